//! An electric fuel pump in or near the tank: motor, pump stage, relief, outlet valve, and the circuit that feeds it.
//!
//! Laws: L·di/dt = U − (R + R_c)i − K_e·ω − V_b·tanh(i/0.2); J·dω/dt = K_e·i − T_c·tanh(ω/5) − b·ω − D·Δp(1−α)/(2π);
//! delivery q = s(D·ω/2π − k·Δp) through the outlet valve, of which the share 1 − α is liquid, α the gas and vapour
//! at its inlet; relief g·s(p − p_tank − p_rv) back into the tank; seat leak of the outlet valve back into the tank.
//! The circuit is a row of resistances between battery and motor and back.
//!
//! The current's ripple (commutator, once a turn) is an overlay on the reading, not a state.
//! Stops being true: armature reaction and heating of the winding; the relay's coil.

use serde::{Deserialize, Serialize};

use super::Restriction;
use super::number::{Number, Unit, of_resistance};
use crate::units::{Displacement, GaugePressure, PressureDifference, Resistor, Span, Voltage};

/// What moves the fuel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Stage {
    /// Turbine: quiet, hardly a ripple, slip grows fast with pressure.
    Turbine,
    /// Rollers in a cell: ripple at so many a turn.
    RollerCell,
}

/// When it runs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Command {
    /// With the key for a while, then as long as the engine turns.
    KeyAndEngine {
        /// How long it primes after key-on.
        prime: Span,
    },
    /// As above, held at a pressure by a control unit with a sensor.
    Demand {
        /// How long it primes after key-on.
        prime: Span,
        /// Node of the sensor.
        sensor: String,
        /// Pressure at idle.
        idle: GaugePressure,
        /// Pressure at the raised speed.
        raised: GaugePressure,
        /// What the sensor shows too much.
        #[serde(default)]
        bias: GaugePressure,
        /// Duty a bar.
        gain: f64,
        /// Duty a bar and second.
        integral: f64,
    },
    /// By a float in a tank, whatever the key does.
    Float {
        /// Outlet node of that tank.
        tank: String,
        /// Fuel share below which it starts, 0 … 1.
        low: f64,
        /// Fuel share at which it stops.
        high: f64,
        /// The float sticks: the switch never closes.
        #[serde(default)]
        stuck: bool,
    },
}

/// A resistance in the supply circuit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Joint {
    /// Measuring point behind it, seen from the battery's plus.
    pub name: String,
    /// Resistance.
    pub ohm: Resistor,
}

/// Parameters of an electric pump.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ElectricPump {
    /// Inlet node.
    pub from: String,
    /// Outlet node.
    pub to: String,
    /// Outlet node of the tank that relief and seat leak go back to.
    pub tank: String,
    /// What moves the fuel.
    pub stage: Stage,
    /// Volume swept in a turn of the motor.
    pub displacement: Displacement,
    /// Slip, mL/s a Pa.
    pub slip: f64,
    /// Relief: opening difference to the tank.
    pub relief_opens: PressureDifference,
    /// Relief: flow a Pa beyond it, mL/s.
    pub relief_slope: f64,
    /// Seat leak of the outlet valve, mL/s a Pa.
    #[serde(default)]
    pub seat_leak: f64,
    /// Winding.
    pub winding: Resistor,
    /// Inductance, H.
    pub inductance: f64,
    /// K_e, V·s/rad.
    pub constant: f64,
    /// Brush drop.
    pub brushes: Voltage,
    /// J, kg·m².
    pub inertia: f64,
    /// T_c, N·m.
    pub dry_friction: f64,
    /// b, N·m·s.
    pub wet_friction: f64,
    /// Segments of the commutator.
    #[serde(default = "eight")]
    pub segments: u8,
    /// Share of its torque that swings once a turn: gaps in the stage. Shown by the ripple of its current only.
    #[serde(default = "hardly")]
    pub uneven: f64,
    /// Depth of the notch that a worn segment makes once a turn, as a share of the current. Likewise.
    #[serde(default)]
    pub worn_segment: f64,
    /// Circuit from the battery's plus to the motor.
    pub feed: Vec<Joint>,
    /// Circuit from the motor to the battery's minus.
    pub earth: Vec<Joint>,
    /// When it runs.
    pub command: Command,
}

const fn eight() -> u8 {
    8
}

/// A sound stage isn't quite even either.
const fn hardly() -> f64 {
    0.02
}

impl ElectricPump {
    /// Resistance of the whole circuit without the winding, Ω.
    pub fn circuit(&self) -> f64 {
        self.feed.iter().chain(&self.earth).map(|j| j.ohm.si()).sum()
    }

    /// Voltages of the measuring points against the battery's minus, with a current, as (name, V): from the battery's
    /// plus over the motor's two ends to its minus.
    pub fn potentials(&self, supply: f64, current: f64) -> Vec<(String, f64)> {
        let mut list = vec![("battery +".to_owned(), supply)];
        let mut v = supply;
        for joint in &self.feed {
            v -= joint.ohm.si() * current;
            list.push((joint.name.clone(), v));
        }
        let mut v: f64 = self.earth.iter().map(|j| j.ohm.si() * current).sum();
        for joint in &self.earth {
            list.push((joint.name.clone(), v));
            v -= joint.ohm.si() * current;
        }
        list.push(("battery −".to_owned(), 0.0));
        list
    }
}

/// A pump's jet: part of its delivery drives a jet that lifts fuel into the pot the pump stands in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JetPump {
    /// Node that drives it.
    pub from: String,
    /// Outlet node of the pot.
    pub to: String,
    /// Its nozzle.
    pub nozzle: super::Resistance,
    /// Flow drawn from the tank over flow through the nozzle.
    pub ratio: f64,
}

/// The nozzle as a narrowing.
impl JetPump {
    /// The driving part alone.
    pub fn nozzle(&self) -> Restriction {
        Restriction { from: self.from.clone(), to: self.to.clone(), drop: self.nozzle }
    }
}

impl ElectricPump {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let mut all = self.stage_numbers();
        all.extend(self.motor_numbers());
        for (list, joints) in [("feed", &self.feed), ("earth", &self.earth)] {
            for (i, joint) in joints.iter().enumerate() {
                let field = format!("{list}.{i}.ohm");
                all.push(Number::new(&field, "the resistance", joint.ohm.si(), Unit::OHM, 0.0, 1e6));
            }
        }
        all.extend(self.command.numbers().into_iter().map(|n| n.below("command")));
        all
    }

    fn stage_numbers(&self) -> Vec<Number> {
        vec![
            Number::new("displacement", "the displacement", self.displacement.si(), Unit::ML_PER_TURN, 0.01, 200.0),
            Number::new("slip", "the slip", self.slip, Unit::ML_PER_S_PA, 0.0, 1e-2),
            Number::new(
                "relief_opens",
                "the relief's opening pressure",
                self.relief_opens.si(),
                Unit::BAR,
                0.05,
                50.0,
            ),
            Number::new("relief_slope", "the relief's slope", self.relief_slope, Unit::ML_PER_S_PA, 1e-7, 10.0),
            Number::new("seat_leak", "the leak of the outlet valve", self.seat_leak, Unit::ML_PER_S_PA, 0.0, 1e-2),
        ]
    }

    fn motor_numbers(&self) -> Vec<Number> {
        vec![
            Number::new("winding", "the winding", self.winding.si(), Unit::OHM, 0.01, 1e6),
            Number::new("inductance", "the inductance", self.inductance, Unit::bare("H"), 1e-5, 0.1),
            Number::new("constant", "the motor's constant", self.constant, Unit::bare("V·s/rad"), 1e-4, 1.0),
            Number::new("brushes", "the drop of the brushes", self.brushes.si(), Unit::V, 0.0, 5.0),
            Number::new("inertia", "the inertia", self.inertia, Unit::bare("kg·m²"), 1e-8, 1e-2),
            Number::new("dry_friction", "the dry friction", self.dry_friction, Unit::bare("N·m"), 0.0, 1.0),
            Number::new("wet_friction", "the wet friction", self.wet_friction, Unit::bare("N·m·s"), 0.0, 1e-2),
            Number::new("segments", "the segments", f64::from(self.segments), Unit::NONE, 2.0, 60.0),
            Number::new("uneven", "the swing of the torque", self.uneven, Unit::NONE, 0.0, 1.0),
            Number::new("worn_segment", "the notch of a worn segment", self.worn_segment, Unit::NONE, 0.0, 1.0),
        ]
    }
}

impl Command {
    fn numbers(&self) -> Vec<Number> {
        let prime = |s: &Span| Number::new("prime", "the time of priming", s.si(), Unit::S, 0.0, 60.0);
        match self {
            Self::KeyAndEngine { prime: s } => vec![prime(s)],
            Self::Demand { prime: s, idle, raised, bias, gain, integral, .. } => vec![
                prime(s),
                Number::new("idle", "the pressure at idle", idle.si(), Unit::BAR, 0.05, 30.0),
                Number::new("raised", "the pressure at the raised speed", raised.si(), Unit::BAR, 0.05, 30.0),
                Number::new("bias", "what the sensor shows too much", bias.si(), Unit::BAR, -20.0, 20.0),
                Number::new("gain", "the duty a bar", *gain, Unit::bare("1/bar"), 0.0, 100.0),
                Number::new(
                    "integral",
                    "the duty a bar and second",
                    *integral,
                    Unit::bare("1/(bar·s)"),
                    0.0,
                    1000.0,
                ),
            ],
            Self::Float { low, high, .. } => vec![
                Number::new("low", "the share at which it starts", *low, Unit::NONE, 0.0, 1.0),
                Number::new("high", "the share at which it stops", *high, Unit::NONE, *low, 1.0),
            ],
        }
    }
}

impl JetPump {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let mut all = vec![Number::new("ratio", "the flow it draws", self.ratio, Unit::NONE, 0.0, 50.0)];
        all.extend(of_resistance("nozzle", &self.nozzle));
        all
    }
}
