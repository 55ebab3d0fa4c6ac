//! Links, motors and holes that components stand for.

use std::collections::BTreeMap;

use super::layout::{Layout, TEE};
use super::medium::wax;
use super::{
    Build, Controller, End, EnginePart, Hole, Law, Link, Motor, PRIMER_STALL_PA, PRIMER_STROKES_PER_S, Rig,
    TEE_VALVE_K, TEE_VALVE_ROUNDING_PA, Topology,
};
use crate::fluid::Fuel;
use crate::plant::component::{
    Command, Component, DiaphragmPump, ElectricPump, Filter, HandPrimer, JetPump, Line, NonReturnValve, Relief,
    Resistance, ShutOffValve, SwirlPot, Tank,
};
use crate::plant::flaw::Flaw;
use crate::plant::{Part, Plant};
use crate::units::GRAVITY;

/// Absolute pressure below any that a hose meets: it never gives way.
const NEVER_SQUEEZED_PA: f64 = -1e9;
/// Width over which a soft hose is squeezed shut, Pa.
const SQUEEZE_WIDTH_PA: f64 = 5000.0;
/// Resistance of a line that is held shut, Pa·s/mL.
const PINCHED_PA_S_ML: f64 = 1e11;
/// Rounding of the corner of the overflow valve, Pa.
const OVERFLOW_ROUNDING_PA: f64 = 3000.0;
/// Rate at which fuel runs over a rim, 1/s.
const RIM_RATE: f64 = 2.0;
/// Share of a tank at which its overflow begins.
const OVERFLOW_AT: f64 = 0.95;

impl Layout<'_> {
    /// What a component adds to the network.
    pub(super) fn add_part(
        &self,
        plant: &Plant,
        part: &Part,
        fuel: &Fuel,
        top: &mut Topology,
        build: &mut Build,
    ) -> Result<(), Flaw> {
        let name = part.name.as_str();
        match &part.is {
            Component::Engine(_) => {}
            Component::Tank(tank) => self.add_overflow(name, tank, top, build)?,
            Component::SwirlPot(pot) => self.add_pot(name, pot, top, build)?,
            Component::Strainer(s) => {
                let (mut a, mut b) = s.clean.coefficients();
                if let Some(dirt) = &s.dirt {
                    let (da, db) = dirt.coefficients();
                    (a, b) = (a + da, b + db);
                }
                self.add_resistance(name, &s.from, &s.to, (a, b), top, build)?;
            }
            Component::Restriction(r) => {
                self.add_resistance(name, &r.from, &r.to, r.drop.coefficients(), top, build)?;
            }
            Component::SedimentBowl(b) => {
                self.add_resistance(name, &b.from, &b.to, b.clean.coefficients(), top, build)?;
            }
            Component::NonReturnValve(valve) => self.add_non_return(name, valve, top, build)?,
            Component::ShutOffValve(valve) => self.add_shut_off(name, valve, fuel, top, build)?,
            Component::Relief(relief) => self.add_relief(name, relief, plant, top, build)?,
            Component::Filter(filter) => self.add_filter(name, filter, plant, top, build)?,
            Component::HandPrimer(primer) => self.add_primer(name, primer, top, build)?,
            Component::Line(line) => self.add_line(name, line, fuel, top, build)?,
            Component::GearPump(pump) => {
                let speed = top.engine.n;
                let fill = [pump.filling.si(), pump.filling_with_speed.si(), pump.filling_steepness];
                let law = Law::Gear {
                    displacement: build.param(pump.displacement.si() * 1e6),
                    fill: fill.map(|v| build.param(v)),
                    speed,
                };
                let (inlet, outlet) = (self.from(&pump.from)?, self.to(&pump.to)?);
                self.add_link(name, inlet, outlet, law, top);
                let (turning, rest) = (build.param(pump.slip), build.param(pump.slip_at_rest));
                self.add_link(&format!("gaps of {name}"), outlet, inlet, Law::Slip { turning, rest, speed }, top);
            }
            Component::DiaphragmPump(pump) => self.add_diaphragm(name, pump, top, build)?,
            Component::ElectricPump(pump) => self.add_electric(name, pump, top, build)?,
            Component::JetPump(jet) => self.add_jet(name, jet, top, build)?,
        }
        Ok(())
    }

    fn add_link(&self, name: &str, from: End, to: End, law: Law, top: &mut Topology) {
        let zone = self.zone(from).or(self.zone(to)).unwrap_or(0);
        top.links.push(Link { name: name.to_owned(), from, to, zone, law });
    }

    fn add_resistance(
        &self,
        name: &str,
        from: &str,
        to: &str,
        (a, b): (f64, f64),
        top: &mut Topology,
        build: &mut Build,
    ) -> Result<(), Flaw> {
        let law = Law::Resistance { a: build.param(a), b: build.param(b) };
        self.add_link(name, self.from(from)?, self.to(to)?, law, top);
        Ok(())
    }

    fn add_overflow(&self, name: &str, tank: &Tank, top: &mut Topology, build: &mut Build) -> Result<(), Flaw> {
        let Some(to) = &tank.overflows_to else { return Ok(()) };
        let from = self.reservoir(&tank.outlet).ok_or_else(|| Flaw::Nowhere(tank.outlet.clone()))?;
        let to = self.reservoir(to).ok_or_else(|| Flaw::Nowhere(to.clone()))?;
        let rim = build.param(OVERFLOW_AT * tank.capacity.si() * 1e6);
        let law = Law::Weir { reservoir: from, rim, rate: build.param(RIM_RATE) };
        self.add_link(&format!("overflow of {name}"), End::Bottom(from), End::Top(to), law, top);
        Ok(())
    }

    fn add_pot(&self, name: &str, pot: &SwirlPot, top: &mut Topology, build: &mut Build) -> Result<(), Flaw> {
        let (Some(own), Some(tank)) = (self.reservoir(&pot.outlet), self.reservoir(&pot.tank)) else {
            return Err(Flaw::Nowhere(pot.tank.clone()));
        };
        let rim = build.param(pot.volume.si() * 1e6);
        let law = Law::Weir { reservoir: own, rim, rate: build.param(RIM_RATE) };
        self.add_link(&format!("rim of {name}"), End::Bottom(own), End::Top(tank), law, top);
        let (a, b) = pot.flap.coefficients();
        let law = Law::NonReturn {
            a: build.param(a),
            b: build.param(b),
            cracking: build.param(0.0),
            stuck_open: build.param(0.0),
            lift: build.param(1.0),
            seat_leak: build.param(0.0),
            sticks: None,
        };
        self.add_link(&format!("flap of {name}"), End::Bottom(tank), End::Bottom(own), law, top);
        Ok(())
    }

    fn add_non_return(
        &self,
        name: &str,
        valve: &NonReturnValve,
        top: &mut Topology,
        build: &mut Build,
    ) -> Result<(), Flaw> {
        let (a, b) = valve.open.coefficients();
        let law = Law::NonReturn {
            a: build.param(a),
            b: build.param(b),
            cracking: build.param(valve.cracking.si()),
            stuck_open: build.param(valve.stuck_open),
            lift: build.param(valve.lift),
            seat_leak: build.param(valve.seat_leak),
            sticks: (valve.sticks.si() > 0.0)
                .then(|| (build.state(format!("{name} loose"), 1e-4), build.param(valve.sticks.si()))),
        };
        self.add_link(name, self.from(&valve.from)?, self.to(&valve.to)?, law, top);
        Ok(())
    }

    fn add_shut_off(
        &self,
        name: &str,
        valve: &ShutOffValve,
        _fuel: &Fuel,
        top: &mut Topology,
        build: &mut Build,
    ) -> Result<(), Flaw> {
        let k = orifice_coefficient(&valve.open);
        let opening = build.input(format!("lever of {name}"), 1e-5);
        build.handles.levers.push((name.to_owned(), opening, valve.lever));
        let law = Law::Valve {
            k_max: build.param(k),
            opening,
            reach: build.param(valve.reach),
            leak: build.param(valve.leak * k),
            rounding: TEE_VALVE_ROUNDING_PA,
        };
        self.add_link(name, self.from(&valve.from)?, self.to(&valve.to)?, law, top);
        Ok(())
    }

    fn add_relief(
        &self,
        name: &str,
        relief: &Relief,
        plant: &Plant,
        top: &mut Topology,
        build: &mut Build,
    ) -> Result<(), Flaw> {
        let manifold = plant.engine().map_or(0.0, |e| e.manifold.si());
        let law = Law::Relief {
            g: build.param(relief.slope),
            set: build.param(relief.opens.si()),
            leak: build.param(relief.leak),
            series: build.param(relief.way_out),
            reference: relief.manifold.then(|| build.param(manifold)),
            rounding: relief.rounding.si(),
        };
        self.add_link(name, self.from(&relief.from)?, self.to(&relief.to)?, law, top);
        Ok(())
    }

    fn add_filter(
        &self,
        name: &str,
        filter: &Filter,
        plant: &Plant,
        top: &mut Topology,
        build: &mut Build,
    ) -> Result<(), Flaw> {
        let (a, b) = filter.new.coefficients();
        let open = 1.0 - filter.clogged;
        let on = filter.primer_stroke.map(|_| build.input(format!("primer of {name}"), 1e-5));
        if let Some(on) = on {
            build.handles.primers.push((name.to_owned(), on));
        }
        let flow = filter.primer_stroke.map_or(1.0, |stroke| stroke.si() * 1e6 * PRIMER_STROKES_PER_S);
        let warmer = filter.heater.si();
        let [gain, per_ml, melts] = wax(&plant.fuel, plant.temperature.kelvin() + warmer);
        let law = Law::Element {
            a: build.param(a / (open * open * open)),
            b: build.param(b / (open * open * open * open)),
            flow: build.param(flow),
            stall: build.param(PRIMER_STALL_PA),
            on,
            wax: Some(build.state(format!("wax in {name}"), 1e-4)),
            wax_gain: build.param(gain),
            wax_per_ml: build.param(per_ml),
            wax_melts: build.param(melts),
            heater: build.param(warmer),
        };
        self.add_link(name, self.from(&filter.from)?, self.to(&filter.to)?, law, top);
        Ok(())
    }

    fn add_primer(
        &self,
        name: &str,
        primer: &HandPrimer,
        top: &mut Topology,
        build: &mut Build,
    ) -> Result<(), Flaw> {
        let (a, b) = primer.open.coefficients();
        let on = build.input(format!("primer of {name}"), 1e-5);
        build.handles.primers.push((name.to_owned(), on));
        let law = Law::Element {
            a: build.param(a),
            b: build.param(b),
            flow: build.param(primer.stroke.si() * 1e6 * PRIMER_STROKES_PER_S),
            stall: build.param(PRIMER_STALL_PA),
            on: Some(on),
            wax: None,
            wax_gain: build.param(0.0),
            wax_per_ml: build.param(0.0),
            wax_melts: build.param(0.0),
            heater: build.param(0.0),
        };
        self.add_link(name, self.from(&primer.from)?, self.to(&primer.to)?, law, top);
        Ok(())
    }

    fn add_line(
        &self,
        name: &str,
        line: &Line,
        fuel: &Fuel,
        top: &mut Topology,
        build: &mut Build,
    ) -> Result<(), Flaw> {
        let (bore, length) = (line.bore.si(), line.length.si());
        let area = core::f64::consts::FRAC_PI_4 * bore * bore;
        let r2 = bore * bore / 4.0;
        let q = build.state(format!("flow in {name}"), 1e-4);
        build.state(format!("slow flow in {name}"), 1e-4);
        let (from, to) = (self.from(&line.from)?, self.to(&line.to)?);
        let mut column = vec![];
        for end in [from, to] {
            if let End::Cell(v, _) = end {
                let vessel = &self.vessels[v];
                column.extend(vessel.cell_range().map(|k| (k, 0.5 / vessel.cells as f64)));
            }
        }
        let law = Law::Pipe {
            inertance: build.param(fuel.density * length / area * 1e-6),
            length: build.param(length),
            bore: build.param(bore),
            roughness: build.param(line.roughness.si() / bore),
            fittings: build.param(line.fittings),
            pinch: build.param(if line.pinched { PINCHED_PA_S_ML } else { 0.0 }),
            unsteady: build.param(line.damping * 4.0 * fuel.viscosity * length / (r2 * area) * 1e-6),
            unsteady_rate: build.param(200.0 * fuel.viscosity / (r2 * fuel.density)),
            collapse: build.param(line.squeezed_at.map_or(NEVER_SQUEEZED_PA, |p| p.si())),
            collapse_width: build.param(SQUEEZE_WIDTH_PA),
            q,
            column,
        };
        self.add_link(name, from, to, law, top);
        Ok(())
    }

    fn add_diaphragm(
        &self,
        name: &str,
        pump: &DiaphragmPump,
        top: &mut Topology,
        build: &mut Build,
    ) -> Result<(), Flaw> {
        let hand = build.input(format!("primer of {name}"), 1e-5);
        if pump.hand_stroke.is_some() {
            build.handles.primers.push((name.to_owned(), hand));
        }
        let law = Law::Diaphragm {
            displacement: build.param(pump.displacement.si() * 1e6),
            spring: build.param(pump.spring.si()),
            spring_width: build.param(pump.spring_over.si()),
            fill: [pump.filling.si(), pump.filling_with_speed.si(), 5.0].map(|v| build.param(v)),
            through: build.param(pump.through),
            leak: build.param(pump.leak),
            speed: top.engine.n,
            hand,
            stroke: build.param(pump.hand_stroke.map_or(0.0, |s| s.si() * 1e6 * PRIMER_STROKES_PER_S)),
        };
        self.add_link(name, self.from(&pump.from)?, self.to(&pump.to)?, law, top);
        Ok(())
    }

    fn add_electric(
        &self,
        name: &str,
        pump: &ElectricPump,
        top: &mut Topology,
        build: &mut Build,
    ) -> Result<(), Flaw> {
        let tank = self.reservoir(&pump.tank).ok_or_else(|| Flaw::Nowhere(pump.tank.clone()))?;
        let (inlet, outlet) = (self.from(&pump.from)?, self.to(&pump.to)?);
        let motor = top.motors.len();
        let law = Law::Electric {
            displacement: build.param(pump.displacement.si() * 1e6),
            slip: build.param(pump.slip),
            motor,
        };
        let link = top.links.len();
        self.add_link(name, inlet, outlet, law, top);
        let back = self.from(&pump.to)?;
        let law = Law::Relief {
            g: build.param(pump.relief_slope),
            set: build.param(pump.relief_opens.si()),
            leak: build.param(pump.seat_leak),
            series: build.param(0.0),
            reference: None,
            rounding: 1500.0,
        };
        self.add_link(&format!("relief of {name}"), back, End::Top(tank), law, top);
        let i = build.state(format!("current of {name}"), 1e-3);
        build.state(format!("speed of {name}"), 1e-1);
        build.input(format!("voltage at {name}"), 1e-3);
        build.ledger(&format!("turns of {name}"));
        let controller = match &pump.command {
            Command::Demand { sensor, bias, gain, integral, .. } => {
                let s = build.state(format!("control of {name}"), 1e-4);
                build.input(format!("pressure asked of {name}"), 1.0);
                top.controllers.push(Controller {
                    vessel: self.vessel(self.fed(sensor))?,
                    s,
                    bias: build.param(bias.si()),
                    gain: build.param(gain * 1e-5),
                    integral: build.param(integral * 1e-5),
                });
                Some(top.controllers.len() - 1)
            }
            Command::KeyAndEngine { .. } | Command::Float { .. } => None,
        };
        let numbers = [
            pump.winding.si(),
            pump.circuit(),
            pump.inductance,
            pump.constant,
            pump.brushes.si(),
            pump.inertia,
            pump.dry_friction,
            pump.wet_friction,
        ];
        let [winding, circuit, inductance, constant, brushes, inertia, dry_friction, wet_friction] =
            numbers.map(|v| build.param(v));
        top.motors.push(Motor {
            name: name.to_owned(),
            link,
            i,
            winding,
            circuit,
            inductance,
            constant,
            brushes,
            inertia,
            dry_friction,
            wet_friction,
            controller,
        });
        Ok(())
    }

    /// A jet: the nozzle drives, and draws from the tank into the pot.
    fn add_jet(&self, name: &str, jet: &JetPump, top: &mut Topology, build: &mut Build) -> Result<(), Flaw> {
        let pot = self.reservoir(&jet.to).ok_or_else(|| Flaw::Nowhere(jet.to.clone()))?;
        let parent = self.reservoirs[pot].parent.ok_or_else(|| Flaw::Nowhere(jet.to.clone()))?;
        let (a, b) = jet.nozzle.coefficients();
        let law = Law::Resistance { a: build.param(a), b: build.param(b) };
        let drive = top.links.len();
        self.add_link(name, self.from(&jet.from)?, End::Top(pot), law, top);
        let law = Law::Jet { drive, ratio: build.param(jet.ratio) };
        self.add_link(&format!("draught of {name}"), End::Pickup(parent), End::Top(pot), law, top);
        Ok(())
    }

    /// Demand, overflow, back-leak and dripping injectors.
    pub(super) fn add_engine_links(
        &self,
        engine: &EnginePart,
        top: &mut Topology,
        build: &mut Build,
    ) -> Result<(), Flaw> {
        let supply = self.tail(top.engine.supply);
        let back = match &engine.returns_to {
            Some(node) => self.to(node)?,
            None => End::Top(0),
        };
        self.add_link("demand", supply, End::Burned, Law::Demand, top);
        self.add_link("back-leak", supply, back, Law::BackLeak, top);
        self.add_link("injectors", supply, End::Burned, Law::Seep { g: build.param(engine.injectors_drip) }, top);
        if let Some(overflow) = &engine.overflow {
            let law = Law::Relief {
                g: build.param(overflow.slope),
                set: build.param(overflow.opens.si()),
                leak: build.param(overflow.leak),
                series: build.param(overflow.way_out),
                reference: None,
                rounding: OVERFLOW_ROUNDING_PA,
            };
            self.add_link("overflow", supply, back, law, top);
        }
        Ok(())
    }

    /// Tee valve and container hose.
    pub(super) fn add_kit(&self, rig: &Rig, top: &mut Topology, build: &mut Build) -> Result<(), Flaw> {
        if let Some(tee) = &rig.tee {
            let opening = build.input("opening of the tee's valve".into(), 1e-5);
            let law = Law::Valve {
                k_max: build.param(TEE_VALVE_K),
                opening,
                reach: build.param(tee.valve_reach),
                leak: build.param(0.0),
                rounding: TEE_VALVE_ROUNDING_PA,
            };
            let (fed, begins) = (self.vessel(self.fed(&tee.joint))?, self.vessel(self.begins_in(&tee.joint))?);
            build.handles.valve_link = Some(top.links.len());
            self.add_link("tee valve", self.tail(fed), self.head(begins), law, top);
            build.handles.valve = Some(opening);
            build.handles.joint.clone_from(&tee.joint);
            let vessel = self.vessel(TEE)?;
            build.handles.tee = Some(vessel);
            build.handles.glass = Some(self.vessels[vessel].first_cell);
        }
        if let Some(joint) = &rig.container {
            // the container stands with its surface level with the tank's
            let tank = self.plant.tank().ok_or(Flaw::NoTank)?;
            let level = tank.base.si() + tank.fill.si() / tank.area.si();
            let law = Law::Resistance { a: build.param(25.0), b: build.param(0.3) };
            let from = End::Container(build.param(level));
            self.add_link("container hose", from, self.head(self.vessel(self.fed(joint))?), law, top);
        }
        Ok(())
    }

    /// A hole at every node with cells, of no area unless the plant says otherwise.
    pub(super) fn add_holes(&self, plant: &Plant, top: &mut Topology, build: &mut Build) -> Result<(), Flaw> {
        let named: Vec<(&str, f64, f64)> =
            plant.leaks.iter().map(|l| (l.node.as_str(), l.along, l.area.si() * 1e6)).collect();
        let known = |name: &str| plant.node(name).is_some() || name == TEE;
        if let Some((node, ..)) = named.iter().find(|(node, ..)| !known(node)) {
            return Err(Flaw::HoleNowhere((*node).to_owned()));
        }
        if let Some((node, ..)) = named.iter().find(|(node, ..)| self.reservoir(node).is_some()) {
            return Err(Flaw::HoleInTheOpen((*node).to_owned()));
        }
        for vessel in &self.vessels {
            let here: Vec<(f64, f64)> = named
                .iter()
                .filter(|(node, ..)| *node == vessel.name)
                .map(|&(_, along, area)| (along, area))
                .collect();
            if vessel.cells == 0 {
                if here.is_empty() {
                    continue;
                }
                return Err(Flaw::HoleWithoutGas(vessel.name.clone()));
            }
            let cell =
                |along: f64| vessel.first_cell + ((along * vessel.cells as f64) as usize).min(vessel.cells - 1);
            // one hole a cell: how many leaks share it doesn't change the structure
            let mut areas = BTreeMap::from([(cell(0.5), 0.0)]);
            for (along, area) in here {
                *areas.entry(cell(along)).or_insert(0.0) += area;
            }
            for (cell, area) in areas {
                top.holes.push(Hole { cell, area: build.param(area), name: vessel.name.clone() });
            }
        }
        Ok(())
    }
}

/// Coefficient K of q = K·√Δp, mL/s/√Pa, from a known drop.
fn orifice_coefficient(open: &Resistance) -> f64 {
    open.at.si() * 1e6 / open.drop.si().max(1.0).sqrt()
}

/// Head of a column, Pa.
pub(super) fn head(density: f64, height: f64) -> f64 {
    density * GRAVITY * height
}
