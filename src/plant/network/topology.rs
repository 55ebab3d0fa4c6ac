//! What a network is made of: which things exist and how they hang together, without a number.
//!
//! Numbers live in one flat table of parameters and one vector of states; a [`Param`] and a state
//! index say where. So vehicles of one topology differ in two columns of numbers only and can be
//! advanced together.

use core::ops::Range;

/// Place of a number in the table of parameters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Param(pub(super) u32);

impl Param {
    pub(in crate::plant) const fn new(place: usize) -> Self {
        Self(place as u32)
    }

    /// Its place.
    #[inline(always)]
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// A part of the vehicle with one temperature, and the fuel's properties there.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// Name.
    pub name: String,
    /// Density, kg/m³.
    pub density: Param,
    /// Viscosity, Pa·s.
    pub viscosity: Param,
    /// Viscosity over that at 20 °C: what laminar resistances grow with.
    pub thick: Param,
    /// Vapour pressure, Pa absolute, at the temperature for which properties were taken last.
    pub vapour: Param,
    /// Its growth there, Pa/K.
    pub vapour_rise: Param,
    /// Ostwald coefficient for air.
    pub solubility: Param,
    /// State: temperature, K.
    pub t: usize,
    /// Temperature at which the amounts of fuel are counted, K.
    pub t_start: Param,
    /// Surroundings, K.
    pub ambient: Param,
    /// How much warmer it gets with a warm engine running, and with a warm engine stopped, K.
    pub rise_running: Param,
    /// See `rise_running`.
    pub rise_stopped: Param,
    /// How fast it follows, 1/s.
    pub follow: Param,
}

/// A control volume at a node.
#[derive(Clone, Debug, PartialEq)]
pub struct Vessel {
    /// Name of the node.
    pub name: String,
    /// Volume, mL.
    pub volume: Param,
    /// Compliance C = V(1/K + c_w), mL/Pa.
    pub compliance: Param,
    /// Gas that never moves (nuclei, cushions), mL at standard pressure.
    pub still_gas: Param,
    /// Height, m.
    pub height: Param,
    /// V·β: growth of the fuel in it, mL/K.
    pub expansion: Param,
    /// Temperature zone.
    pub zone: usize,
    /// State x: liquid beyond the volume, mL.
    pub x: usize,
    /// First cell in the list of all cells.
    pub first_cell: usize,
    /// Number of cells; 0: gas isn't followed here.
    pub cells: usize,
}

impl Vessel {
    /// Its cells in the list of all cells.
    #[inline]
    pub fn cell_range(&self) -> Range<usize> {
        self.first_cell..self.first_cell + self.cells
    }
}

/// A transport cell of a vessel.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// The vessel it belongs to.
    pub vessel: usize,
    /// Volume, mL.
    pub volume: Param,
    /// State g: free gas; d follows at +1.
    pub g: usize,
}

/// A tank, or a pot standing open in one.
#[derive(Clone, Debug, PartialEq)]
pub struct Reservoir {
    /// Name.
    pub name: String,
    /// Volume, mL.
    pub capacity: Param,
    /// Area of the surface, mL/m (so that level = V/area in m).
    pub area: Param,
    /// Height of its bottom, m.
    pub base: Param,
    /// Coefficient of the vent, mL/s/√Pa.
    pub vent: Param,
    /// Further opening, such as an open filler cap, mL/s/√Pa.
    pub cap: Param,
    /// The tank whose air space a pot shares.
    pub parent: Option<usize>,
    /// Temperature zone.
    pub zone: usize,
    /// State: fuel, mL.
    pub v: usize,
    /// State: air, mL at standard pressure (unused in a pot).
    pub m: usize,
}

/// A pipe's mouth in a reservoir.
#[derive(Clone, Debug, PartialEq)]
pub struct Pickup {
    /// Which reservoir.
    pub reservoir: usize,
    /// Height of its mouth above the bottom, m.
    pub height: Param,
    /// How much nearer the surface is here than in the middle (slope, cornering), m.
    pub tilt: Param,
    /// Width over which it starts to draw air, m.
    pub width: Param,
    /// Height of a crack above the bottom, m, and the share of air it lets in while it is uncovered.
    pub crack: [Param; 2],
}

/// Where a link begins or ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// A vessel without cells.
    Vessel(usize),
    /// A cell of a vessel: vessel, cell in the list of all cells.
    Cell(usize, usize),
    /// A pick-up: the bottom pressure of its reservoir, air when the level is low.
    Pickup(usize),
    /// The bottom of a reservoir.
    Bottom(usize),
    /// The air space of a reservoir: what enters falls into the fuel.
    Top(usize),
    /// An open container whose surface stays at a height, m.
    Container(Param),
    /// Into the cylinders.
    Burned,
}

/// What a link does. Flows in mL/s, differences in Pa.
#[derive(Clone, Debug, PartialEq)]
pub enum Law {
    /// Δp = a·q + b·q|q|, a with the viscosity.
    Resistance {
        /// Pa·s/mL at 20 °C.
        a: Param,
        /// Pa·s²/mL².
        b: Param,
    },
    /// q = g·Δp.
    Seep {
        /// mL/s/Pa.
        g: Param,
    },
    /// Non-return valve.
    NonReturn {
        /// Pa·s/mL at 20 °C.
        a: Param,
        /// Pa·s²/mL².
        b: Param,
        /// Cracking pressure, Pa.
        cracking: Param,
        /// Share that stands open.
        stuck_open: Param,
        /// Share of the lift reached.
        lift: Param,
        /// Seat leak, mL/s/Pa.
        seat_leak: Param,
        /// If it sticks: the state that says how loose it is, 0 … 1, and what it takes to come loose, Pa.
        sticks: Option<(usize, Param)>,
    },
    /// Hand or solenoid valve; its opening is the state `opening`.
    Valve {
        /// Coefficient when fully open, mL/s/√Pa.
        k_max: Param,
        /// State.
        opening: usize,
        /// Lever to real opening: multiplied with the state.
        reach: Param,
        /// Coefficient that stays when shut, mL/s/√Pa.
        leak: Param,
        /// Rounding of the corner, Pa.
        rounding: f64,
    },
    /// Line with inertia; flow is the state `q`, its slow part follows at +1.
    Pipe {
        /// ρL/A, Pa·s²/mL.
        inertance: Param,
        /// Length, m.
        length: Param,
        /// Bore, m.
        bore: Param,
        /// ε/D.
        roughness: Param,
        /// ΣK.
        fittings: Param,
        /// Resistance of a line held shut, Pa·s/mL; else nothing.
        pinch: Param,
        /// Unsteady friction R_u, Pa·s/mL.
        unsteady: Param,
        /// Its rate 200μ/(r²ρ), 1/s.
        unsteady_rate: Param,
        /// Pressure (absolute) at the downstream end at which a soft hose half closes, and the width, Pa.
        collapse: Param,
        /// See `collapse`.
        collapse_width: Param,
        /// State q.
        q: usize,
        /// Cells of both ends with their shares of the column's height.
        column: Vec<(usize, f64)>,
    },
    /// Filter element: resistance that grows with wax; perhaps a hand primer in its head, which while
    /// the hand works, `on` = 1, adds a head that falls from `stall` at rest to nothing at `flow`.
    Element {
        /// Pa·s/mL at 20 °C.
        a: Param,
        /// Pa·s²/mL².
        b: Param,
        /// Flow of the primer without back-pressure, mL/s.
        flow: Param,
        /// Pressure at which the hand gives up, Pa.
        stall: Param,
        /// State of the hand; none: no primer.
        on: Option<usize>,
        /// State: share of the wax that can settle.
        wax: Option<usize>,
        /// Growth of `a` with all wax settled.
        wax_gain: Param,
        /// Settling, share a mL of fuel passed.
        wax_per_ml: Param,
        /// Melting, 1/s.
        wax_melts: Param,
        /// How much warmer a heater keeps it, K.
        heater: Param,
    },
    /// Relief, overflow, regulator: q = g·s(Δp − set − reference)/(1 + g·series) + leak·Δp.
    Relief {
        /// mL/s/Pa.
        g: Param,
        /// Opening difference, Pa.
        set: Param,
        /// mL/s/Pa.
        leak: Param,
        /// Resistance of the way out, Pa·s/mL.
        series: Param,
        /// Pressure in the manifold of an idling engine against the air, Pa, when it refers to that.
        reference: Option<Param>,
        /// Rounding of the corner, Pa.
        rounding: f64,
    },
    /// Gear or vane pump: what it draws.
    Gear {
        /// mL a turn.
        displacement: Param,
        /// Filling: half at y = a + b(n/1000)², steepness m.
        fill: [Param; 3],
        /// State: speed, 1/min.
        speed: usize,
    },
    /// What falls back through a pump's gaps, from its outlet to its inlet, laminar.
    Slip {
        /// While turning, mL/s/Pa.
        turning: Param,
        /// At rest, mL/s/Pa.
        rest: Param,
        /// State: speed, 1/min.
        speed: usize,
    },
    /// Diaphragm pump: the spring sets the pressure, the cam the flow.
    Diaphragm {
        /// mL a turn of the engine.
        displacement: Param,
        /// Outlet pressure against the air at which the spring stalls, and the width, Pa.
        spring: Param,
        /// See `spring`.
        spring_width: Param,
        /// Filling, as for gears.
        fill: [Param; 3],
        /// Flow through both valves with pressure from the inlet: mL/s/√Pa.
        through: Param,
        /// Leak of the valves backwards, mL/s/Pa.
        leak: Param,
        /// State: speed, 1/min.
        speed: usize,
        /// State: hand at the lever, 0 … 1.
        hand: usize,
        /// What the hand moves, mL/s.
        stroke: Param,
    },
    /// Electric pump: q = s(D·ω/2π − k·Δp) through its outlet valve.
    Electric {
        /// mL a turn.
        displacement: Param,
        /// Slip, mL/s/Pa.
        slip: Param,
        /// Which motor.
        motor: usize,
    },
    /// Jet pump: draws in proportion to what another link drives through it.
    Jet {
        /// The driving link; it stands earlier in the list.
        drive: usize,
        /// Flow drawn over flow driving.
        ratio: Param,
    },
    /// Overflow of a reservoir at a fuel volume.
    Weir {
        /// Which reservoir.
        reservoir: usize,
        /// Volume at the rim, mL.
        rim: Param,
        /// 1/s beyond it.
        rate: Param,
    },
    /// What the engine burns.
    Demand,
    /// What the high-pressure side sends back.
    BackLeak,
}

/// A link between two ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Link {
    /// Name of the component.
    pub name: String,
    /// Upstream end.
    pub from: End,
    /// Downstream end.
    pub to: End,
    /// Temperature zone.
    pub zone: usize,
    /// What it does.
    pub law: Law,
}

/// The engine as the supply sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct Engine {
    /// Vessel it is fed from.
    pub supply: usize,
    /// Fuel burned at standstill of the speed term, mL/s, and a 1/min more.
    pub demand: [Param; 2],
    /// How much more at full load: factor is 1 + this·load.
    pub with_load: Param,
    /// Back-leak a 1/min, mL/s.
    pub back_leak: Param,
    /// Supply pressure (absolute) at which half is served, and the width, Pa.
    pub starves: [Param; 2],
    /// Lag of the speed, s.
    pub lag: Param,
    /// Speed beyond which it doesn't get, 1/min.
    pub most: Param,
    /// Share of gas that stops it, and the width over which it does.
    pub bears: [Param; 2],
    /// Volume in which arriving gas is mixed, mL.
    pub mixing: Param,
    /// Links whose flow brings gas to it.
    pub fed_by: Vec<usize>,
    /// State n (1/min); after it: speed asked for, starter speed, share of gas delivered, turns made,
    /// load 0 … 1, what else stops it 0 … 1 (water, wrong fuel), warmth of the block 0 … 1.
    pub n: usize,
    /// Warming and cooling of the block, 1/s.
    pub warms: [Param; 2],
}

/// An electric motor at a pump and its supply.
#[derive(Clone, Debug, PartialEq)]
pub struct Motor {
    /// Name of the pump.
    pub name: String,
    /// The pump's link.
    pub link: usize,
    /// State: current, A; speed (rad/s) follows at +1, supply voltage (input) at +2, turns made at +3.
    pub i: usize,
    /// Winding, Ω.
    pub winding: Param,
    /// Fuse, relay, joints, earth: Ω.
    pub circuit: Param,
    /// H.
    pub inductance: Param,
    /// V·s/rad = N·m/A.
    pub constant: Param,
    /// Brush drop, V.
    pub brushes: Param,
    /// kg·m².
    pub inertia: Param,
    /// N·m.
    pub dry_friction: Param,
    /// N·m·s.
    pub wet_friction: Param,
    /// Duty comes from this controller.
    pub controller: Option<usize>,
}

/// Holds the pressure of a vessel by the duty of a motor.
#[derive(Clone, Debug, PartialEq)]
pub struct Controller {
    /// Measured vessel.
    pub vessel: usize,
    /// State: integral part; the pressure asked for (gauge, Pa; input) follows at +1.
    pub s: usize,
    /// What the sensor shows too much, Pa.
    pub bias: Param,
    /// Duty a Pa.
    pub gain: Param,
    /// Duty a Pa and second.
    pub integral: Param,
}

/// A hole to the air.
#[derive(Clone, Debug, PartialEq)]
pub struct Hole {
    /// Cell it opens into.
    pub cell: usize,
    /// Effective area, mm².
    pub area: Param,
    /// Name of the node, for repairs.
    pub name: String,
}

/// A flow between two neighbouring cells of a vessel: what enters before it, less the vessel's net
/// gain in proportion to the volume before it.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::plant) struct Face {
    pub(super) left: usize,
    pub(super) right: usize,
    /// Link and weight.
    pub(super) links: Vec<(usize, f64)>,
    /// Hole and weight of what weeps out.
    pub(super) holes: Vec<(usize, f64)>,
}

/// States of the ledgers: what crossed the boundary, mL (air at standard pressure).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ledgers {
    /// Fuel burned.
    pub burned: usize,
    /// Fuel lost through holes.
    pub lost: usize,
    /// Fuel taken from the external container.
    pub container: usize,
    /// Air that came in through holes and vents, less what left through them.
    pub air_in: usize,
    /// Air that left through the engine, less what came back.
    pub air_out: usize,
}

/// Numbers that hold everywhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Common {
    /// Pressure of the surrounding air, Pa absolute.
    pub air: Param,
    /// Its temperature, K.
    pub air_temperature: Param,
    /// Release of dissolved air beyond the threshold, 1/s.
    pub release: Param,
    /// Exchange with bubbles that are there, 1/s.
    pub exchange: Param,
    /// Supersaturation below which no bubble is born, Pa.
    pub nucleation: Param,
}

/// What exists and how it hangs together.
#[derive(Clone, Debug, PartialEq)]
pub struct Topology {
    /// Numbers that hold everywhere.
    pub common: Common,
    /// Temperature zones.
    pub zones: Vec<Zone>,
    /// Control volumes.
    pub vessels: Vec<Vessel>,
    /// Transport cells.
    pub cells: Vec<Cell>,
    /// Tanks and pots.
    pub reservoirs: Vec<Reservoir>,
    /// Mouths of pipes in them.
    pub pickups: Vec<Pickup>,
    /// Links.
    pub links: Vec<Link>,
    /// The engine.
    pub engine: Engine,
    /// Motors.
    pub motors: Vec<Motor>,
    /// Pressure controllers.
    pub controllers: Vec<Controller>,
    /// Holes.
    pub holes: Vec<Hole>,
    /// Ledgers.
    pub ledgers: Ledgers,
    /// Input states: levers that move at a given rate.
    pub inputs: Vec<usize>,
    /// Absolute tolerance of every state.
    pub tolerance: Vec<f64>,
    /// Whether a state's error counts; ledgers follow what others do.
    pub weighed: Vec<bool>,
    /// Names of the states.
    pub names: Vec<String>,
    pub(in crate::plant) faces: Vec<Face>,
}

impl Topology {
    /// Number of states.
    #[inline]
    pub fn states(&self) -> usize {
        self.names.len()
    }

    /// The reservoir whose air space lies over this one's fuel.
    #[inline]
    pub fn air_space_of<'t>(&'t self, reservoir: &'t Reservoir) -> &'t Reservoir {
        reservoir.parent.map_or(reservoir, |p| &self.reservoirs[p])
    }

    /// The vessel of a node.
    pub fn vessel(&self, name: &str) -> Option<usize> {
        self.vessels.iter().position(|v| v.name == name)
    }

    /// The link of a component.
    pub fn link(&self, name: &str) -> Option<usize> {
        self.links.iter().position(|l| l.name == name)
    }

    /// The motor of a pump.
    pub fn motor(&self, name: &str) -> Option<usize> {
        self.motors.iter().position(|m| m.name == name)
    }

    /// Finds the flows between cells; called once all links and holes are known.
    pub(in crate::plant) fn find_faces(&mut self) {
        let mut faces = vec![];
        for (v, vessel) in self.vessels.iter().enumerate() {
            for face in 1..vessel.cells {
                let share = face as f64 / vessel.cells as f64;
                let right = vessel.first_cell + face;
                let before = |cell: usize| if cell < right { 1.0 } else { 0.0 };
                let mut links = vec![];
                for (i, link) in self.links.iter().enumerate() {
                    for (end, sign) in [(link.from, -1.0), (link.to, 1.0)] {
                        if let End::Cell(w, cell) = end
                            && w == v
                            && before(cell) != share
                        {
                            links.push((i, sign * (before(cell) - share)));
                        }
                    }
                }
                let holes = (0..self.holes.len())
                    .filter(|&h| self.cells[self.holes[h].cell].vessel == v)
                    .map(|h| (h, share - before(self.holes[h].cell)))
                    .collect();
                faces.push(Face { left: right - 1, right, links, holes });
            }
        }
        self.faces = faces;
    }
}
