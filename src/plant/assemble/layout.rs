//! Which node becomes which vessel once tee and container are fitted, and what each contains.

use std::collections::BTreeMap;

use super::medium::zone_of;
use super::{Build, Detail, Rig};
use crate::fluid::Fuel;
use crate::plant::component::{Component, Crack, Engine, Line, SwirlPot, Tank};
use crate::plant::flaw::Flaw;
use crate::plant::network::{Cell, End, Pickup, Reservoir, Vessel};
use crate::plant::{Node, Place, Plant};

/// Name of the tee's vessel.
pub const TEE: &str = "test tee";
/// Vessel of the blanked way from the tank when a container feeds a joint.
pub(crate) const BLANKED: &str = "blanked end";
/// Volume of the tee with its glass, mL.
const TEE_VOLUME_ML: f64 = 16.0;
/// Wall stretch of glass and sensing hose, 1/Pa.
const TEE_WALL: f64 = 6e-9;
/// Bubble nuclei in fuel, share of volume.
const NUCLEI: f64 = 4e-5;
/// Wall stretch where nothing says otherwise, 1/Pa.
const USUAL_WALL: f64 = 4e-9;
/// Width over which a pick-up starts to draw air, m.
const PICKUP_WIDTH: f64 = 0.004;

/// What a vessel is made of while it is being put together.
#[derive(Clone)]
struct Draft {
    name: String,
    place: Place,
    height: f64,
    volume: f64,
    stretch: f64,
    wall: Option<f64>,
    cushion: f64,
    cells: usize,
    plain_line: bool,
}

impl Draft {
    fn new(name: &str, node: &Node) -> Self {
        let volume = node.volume.si() * 1e6;
        Self {
            name: name.to_owned(),
            place: node.place,
            height: node.height.si(),
            volume,
            stretch: volume * USUAL_WALL,
            wall: node.wall.map(crate::units::WallStretch::si),
            cushion: 0.0,
            cells: 1,
            plain_line: true,
        }
    }

    fn add(&mut self, volume: f64, wall: f64) {
        self.volume += volume;
        self.stretch += volume * wall;
    }
}

/// The plant's nodes as control volumes.
pub(super) struct Layout<'a> {
    pub(super) plant: &'a Plant,
    rig: &'a Rig,
    tee_valve_after: bool,
    pub(super) vessels: Vec<Vessel>,
    pub(super) cells: Vec<Cell>,
    pub(super) reservoirs: Vec<Reservoir>,
    pub(super) pickups: Vec<Pickup>,
    /// Outlet node → reservoir (and pick-up of the same index).
    outlets: BTreeMap<&'a str, usize>,
}

impl<'a> Layout<'a> {
    pub(super) fn new(
        plant: &'a Plant,
        rig: &'a Rig,
        engine: &'a Engine,
        detail: Detail,
        fuel: &Fuel,
        build: &mut Build,
    ) -> Result<Self, Flaw> {
        let mut layout = Self {
            plant,
            rig,
            tee_valve_after: rig.tee.as_ref().is_some_and(|t| plant.is_under_pressure(&t.joint)),
            vessels: vec![],
            cells: vec![],
            reservoirs: vec![],
            pickups: vec![],
            outlets: BTreeMap::new(),
        };
        layout.add_reservoirs(build)?;
        for joint in rig.tee.iter().map(|t| &t.joint).chain(&rig.container) {
            match plant.node(joint) {
                Some(node) if node.joint.is_some() && !layout.outlets.contains_key(joint.as_str()) => {}
                Some(_) => return Err(Flaw::NotAJoint(joint.clone())),
                None => return Err(Flaw::NoJoint(joint.clone())),
            }
        }
        let drafts = layout.drafts(engine, detail);
        for draft in &drafts {
            layout.add_vessel(draft, engine, fuel, build);
        }
        Ok(layout)
    }

    fn add_reservoirs(&mut self, build: &mut Build) -> Result<(), Flaw> {
        let mut pots: Vec<(&str, &SwirlPot)> = vec![];
        for part in &self.plant.parts {
            match &part.is {
                Component::Tank(tank) => self.add_tank(&part.name, tank, build),
                Component::SwirlPot(pot) => pots.push((&part.name, pot)),
                _ => {}
            }
        }
        if self.reservoirs.is_empty() {
            return Err(Flaw::NoTank);
        }
        for (name, pot) in pots {
            let parent = *self.outlets.get(pot.tank.as_str()).ok_or_else(|| Flaw::Nowhere(pot.tank.clone()))?;
            let base = build.params[self.reservoirs[parent].base.index()];
            let r = Reservoir {
                name: name.to_owned(),
                // room above the rim, so that the overflow has something to work with
                capacity: build.param(1.5 * pot.volume.si() * 1e6),
                area: build.param(pot.area.si() * 1e6),
                base: build.param(base),
                vent: build.param(0.0),
                cap: build.param(0.0),
                parent: Some(parent),
                zone: zone_of(self.plant, Place::Tank),
                v: build.state(format!("fuel in {name}"), 1e-3),
                m: usize::MAX,
            };
            self.add_reservoir(&pot.outlet, pot.pickup.si(), None, r, build);
        }
        Ok(())
    }

    fn add_tank(&mut self, name: &str, tank: &'a Tank, build: &mut Build) {
        let v = build.state(format!("fuel in {name}"), 1e-4);
        build.state(format!("air in {name}"), 1e-3);
        let r = Reservoir {
            name: name.to_owned(),
            capacity: build.param(tank.capacity.si() * 1e6),
            area: build.param(tank.area.si() * 1e6),
            base: build.param(tank.base.si()),
            vent: build.param(tank.vent.si() * 1e6 / 10.0),
            cap: build.param(0.0),
            parent: None,
            zone: zone_of(self.plant, Place::Tank),
            v,
            m: v + 1,
        };
        self.add_reservoir(&tank.outlet, tank.pickup.si(), tank.crack, r, build);
    }

    fn add_reservoir(
        &mut self,
        outlet: &'a str,
        mouth: f64,
        crack: Option<Crack>,
        reservoir: Reservoir,
        build: &mut Build,
    ) {
        self.outlets.insert(outlet, self.reservoirs.len());
        self.pickups.push(Pickup {
            reservoir: self.reservoirs.len(),
            height: build.param(mouth),
            tilt: build.param(0.0),
            width: build.param(PICKUP_WIDTH),
            crack: crack.map_or([0.0, 0.0], |c| [c.height.si(), c.share]).map(|v| build.param(v)),
        });
        self.reservoirs.push(reservoir);
    }

    /// Name of the vessel that a component ends in.
    pub(super) fn ends_in<'n>(&self, node: &'n str) -> &'n str {
        if self.rig.container.as_deref() == Some(node) { BLANKED } else { self.fed(node) }
    }

    /// Name of the vessel on a node's tank side, whatever is blanked.
    pub(super) fn fed<'n>(&self, node: &'n str) -> &'n str {
        if self.tee_valve_after && self.tee_at(node) { TEE } else { node }
    }

    /// Name of the vessel that a component begins in.
    pub(super) fn begins_in<'n>(&self, node: &'n str) -> &'n str {
        if !self.tee_valve_after && self.tee_at(node) { TEE } else { node }
    }

    fn tee_at(&self, node: &str) -> bool {
        self.rig.tee.as_ref().is_some_and(|t| t.joint == node)
    }

    pub(super) fn vessel(&self, name: &str) -> Result<usize, Flaw> {
        self.vessels.iter().position(|v| v.name == name).ok_or_else(|| Flaw::Nowhere(name.to_owned()))
    }

    pub(super) fn reservoir(&self, outlet: &str) -> Option<usize> {
        self.outlets.get(outlet).copied()
    }

    /// First cell of a vessel, where there are cells.
    pub(super) fn head(&self, v: usize) -> End {
        let vessel = &self.vessels[v];
        if vessel.cells > 0 { End::Cell(v, vessel.first_cell) } else { End::Vessel(v) }
    }

    /// Last cell of a vessel.
    pub(super) fn tail(&self, v: usize) -> End {
        let vessel = &self.vessels[v];
        if vessel.cells > 0 { End::Cell(v, vessel.first_cell + vessel.cells - 1) } else { End::Vessel(v) }
    }

    pub(super) fn from(&self, node: &str) -> Result<End, Flaw> {
        match self.outlets.get(node) {
            Some(&r) => Ok(End::Pickup(r)),
            None => Ok(self.tail(self.vessel(self.begins_in(node))?)),
        }
    }

    pub(super) fn to(&self, node: &str) -> Result<End, Flaw> {
        match self.outlets.get(node) {
            Some(&r) => Ok(End::Top(r)),
            None => Ok(self.head(self.vessel(self.ends_in(node))?)),
        }
    }

    /// Temperature zone of an end.
    pub(super) fn zone(&self, end: End) -> Option<usize> {
        match end {
            End::Cell(v, _) | End::Vessel(v) => Some(self.vessels[v].zone),
            End::Pickup(_) | End::Bottom(_) | End::Top(_) | End::Container(_) | End::Burned => None,
        }
    }

    fn drafts(&self, engine: &Engine, detail: Detail) -> Vec<Draft> {
        let plant = self.plant;
        let mut drafts: Vec<Draft> = plant
            .nodes
            .iter()
            .filter(|n| !self.outlets.contains_key(n.name.as_str()))
            .map(|n| Draft::new(&n.name, n))
            .collect();
        if let Some(node) = self.rig.container.as_ref().and_then(|c| plant.node(c)) {
            drafts.push(Draft { volume: 4.0, stretch: 4.0 * USUAL_WALL, ..Draft::new(BLANKED, node) });
        }
        if let Some(node) = self.rig.tee.as_ref().and_then(|t| plant.node(&t.joint)) {
            drafts.push(Draft {
                volume: TEE_VOLUME_ML,
                stretch: TEE_VOLUME_ML * TEE_WALL,
                wall: None,
                plain_line: false,
                ..Draft::new(TEE, node)
            });
        }
        for part in &plant.parts {
            self.fill_drafts(&part.is, &mut drafts);
        }
        for draft in &mut drafts {
            if draft.name == engine.gallery {
                draft.add(engine.volume.si() * 1e6, engine.wall.si());
                draft.cells = usize::from(engine.holds_gas);
                draft.wall = draft.wall.or(Some(engine.wall.si()));
            } else if draft.plain_line {
                draft.cells = draft.cells.min(detail.most_cells);
            } else {
                // bowls and tees mix
                draft.cells = 1;
            }
            // a node without any volume would make the pressure jump
            draft.volume = draft.volume.max(1.0);
        }
        drafts
    }

    fn fill_drafts(&self, component: &Component, drafts: &mut [Draft]) {
        let mut add = |name: &str, volume_ml: f64, wall: f64, then: &dyn Fn(&mut Draft)| {
            if let Some(draft) = drafts.iter_mut().find(|d| d.name == name) {
                draft.add(volume_ml, wall);
                then(draft);
            }
        };
        match component {
            Component::Line(line) => {
                let half = line_volume(line) / 2.0;
                for name in [self.begins_in(&line.from), self.ends_in(&line.to)] {
                    add(name, half, line.wall.si(), &|d| d.cells = d.cells.max(usize::from(line.cells)));
                }
            }
            Component::Filter(filter) => {
                // with a container between, the bowl itself stays with the filter
                let bowl = self.begins_in(&filter.from);
                let bowl = if bowl == TEE { filter.from.as_str() } else { bowl };
                let cushion = filter.cushion.si() * 1e6;
                let mixes = |d: &mut Draft| d.plain_line = false;
                add(bowl, filter.bowl.si() * 1e6, USUAL_WALL, &|d| {
                    mixes(d);
                    d.cushion += cushion;
                });
                add(self.fed(&filter.to), filter.clean_side.si() * 1e6, USUAL_WALL, &mixes);
            }
            Component::SedimentBowl(bowl) => {
                add(self.fed(&bowl.to), bowl.bowl.si() * 1e6, USUAL_WALL, &|d| d.plain_line = false);
            }
            _ => {}
        }
    }

    fn add_vessel(&mut self, draft: &Draft, engine: &Engine, fuel: &Fuel, build: &mut Build) {
        let wall = draft.wall.unwrap_or(draft.stretch / draft.volume);
        let hose_air = self.rig.tee.as_ref().filter(|_| draft.name == TEE).map_or(0.0, |t| t.hose_air);
        let nuclei = NUCLEI * draft.volume;
        let still = if draft.name == engine.gallery && draft.cells == 0 {
            nuclei
        } else {
            nuclei + draft.cushion + hose_air
        };
        let vessel = Vessel {
            name: draft.name.clone(),
            volume: build.param(draft.volume),
            compliance: build.param(draft.volume * (1.0 / fuel.bulk_modulus + wall)),
            still_gas: build.param(still),
            height: build.param(draft.height),
            expansion: build.param(draft.volume * fuel.expansion),
            zone: zone_of(self.plant, draft.place),
            x: build.state(format!("excess fuel at {}", draft.name), 1e-6),
            first_cell: self.cells.len(),
            cells: draft.cells,
        };
        let v = self.vessels.len();
        for k in 0..draft.cells {
            let g = build.state(format!("free gas at {} {k}", draft.name), 1e-5);
            build.state(format!("dissolved gas at {} {k}", draft.name), 1e-5);
            let volume = build.param(draft.volume / draft.cells as f64);
            self.cells.push(Cell { vessel: v, volume, g });
        }
        self.vessels.push(vessel);
    }
}

fn line_volume(line: &Line) -> f64 {
    core::f64::consts::FRAC_PI_4 * line.bore.si() * line.bore.si() * line.length.si() * 1e6
}
