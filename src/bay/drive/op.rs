//! What the hands did: plain mechanical operations with their times.
//!
//! An [`Action`](crate::bay::action::Action) is what a learner sets out to do; it may be refused, may break a rule and may
//! take a quarter of an hour. Ops are what is left of it at the vehicle. They take no time: a piece of
//! work that lasts is an op at its start, others on the way and one at its end. So the times of a list
//! of ops say how long everything took, and are the same for every vehicle that is put through it.

use serde::{Deserialize, Serialize};

use crate::bay::action::{GaugeRange, Key, Micros, Perceived, Probe, Remedy};

/// One thing done to a vehicle or to the kit on it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "op", rename_all = "kebab-case")]
pub(crate) enum Op {
    /// The engine is seen to stand before work begins: where it still runs it is switched off.
    Stand,
    /// The key is turned.
    Key {
        /// Where to.
        to: Key,
    },
    /// The starter goes in for so long, or until the engine runs.
    Crank {
        /// Longest time, s.
        secs: f64,
    },
    /// A speed is asked for.
    Speed {
        /// Engine speed, 1/min.
        rpm: f64,
    },
    /// The lever of the tee's valve is moved.
    Valve {
        /// 0 shut … 1 open.
        open: f64,
    },
    /// The filler cap is opened or shut.
    Cap {
        /// Open?
        open: bool,
    },
    /// Fuel is poured into the first tank.
    Refuel {
        /// How much, l.
        litres: f64,
    },
    /// The tee comes out of its joint, which stands open until the next [`FitTee`](Self::FitTee) or
    /// [`Join`](Self::Join).
    TakeTee {
        /// New seals for the joint it leaves.
        new_seals: bool,
    },
    /// The tee is tight in a joint, full of air.
    FitTee {
        /// Name of the joint.
        joint: String,
        /// New seals at the tee.
        new_seals: bool,
    },
    /// The joint that the tee left is tight again.
    Join {
        /// Name of the joint.
        joint: String,
    },
    /// The bleed screw is opened or shut.
    BleedScrew {
        /// Open?
        open: bool,
    },
    /// The sensing hose is rid of its air, as far as it goes.
    PurgeHose,
    /// The display is set to zero, hose open to the air.
    Zero,
    /// The engine is fed from a container at a joint, or from the tank again.
    Container {
        /// Name of the joint; none for the tank.
        joint: Option<String>,
    },
    /// The hand begins or stops to work the primer.
    Primer {
        /// Begins?
        work: bool,
    },
    /// The hand feels how hard the primer is at the end of a stroke.
    Stroke,
    /// A part is put right.
    Remedy {
        /// Name of the part or joint.
        place: String,
        /// How.
        how: Remedy,
    },
    /// Load is put on the engine.
    Load {
        /// 0 none … 1 all it can.
        share: f64,
    },
    /// The throttle is floored or let go.
    Snap {
        /// Floored?
        down: bool,
    },
    /// The lever of one of the vehicle's shut-off valves is moved.
    Tap {
        /// Name of the valve.
        part: String,
        /// 0 shut … 1 open.
        open: f64,
    },
    /// A transducer of another range is on the hose.
    Range {
        /// Which.
        range: GaugeRange,
    },
    /// A second transducer is at a joint, or gone.
    SecondGauge {
        /// Name of the joint.
        joint: Option<String>,
    },
    /// A sample is drawn from the bottom of the tank.
    Sample,
    /// Something is read and its number kept.
    Probe {
        /// What.
        probe: Probe,
    },
    /// The clamp is set to zero with empty jaws.
    ZeroClamp {
        /// In its large range.
        large: bool,
    },
    /// The current of a pump is recorded fast from now on.
    Capture {
        /// Name of the pump.
        part: String,
    },
    /// That record ends.
    CaptureEnd,
    /// What a look at one's own kit showed to be wrong is put right.
    KitRight {
        /// At the tee; else at the container.
        tee: bool,
    },
    /// The engine's fuel is held back, so that the starter alone turns it.
    HoldBack {
        /// Held?
        on: bool,
    },
    /// A soft hose is pinched, or let go.
    Pinch {
        /// Name of the hose.
        part: String,
        /// Pinched?
        on: bool,
    },
    /// The way at a joint is plugged, or joined again.
    Blank {
        /// Name of the joint; none: nothing is plugged any more.
        joint: Option<String>,
    },
    /// A test lead feeds an electric pump.
    Bridge {
        /// Name of the pump.
        part: String,
        /// On?
        on: bool,
    },
    /// A joint is opened into the measuring jar, or joined again.
    Jar {
        /// Name of the joint; none: it is joined again.
        joint: Option<String>,
        /// Through a throttle.
        throttled: bool,
    },
    /// The return is led into the jar, or back where it belongs.
    ReturnJar {
        /// Into the jar?
        on: bool,
    },
    /// A stroke of a hand pump at the tee brings it to a pressure.
    HandPump {
        /// Pressure, mbar gauge.
        mbar: f64,
    },
    /// Pressure is let out of every line.
    Relieve,
    /// A place is warmer or colder than before.
    Treat {
        /// Name of the part or joint.
        place: String,
        /// By how much, K.
        kelvin: f64,
    },
    /// A part is wiggled and tapped, or let alone.
    Wiggle {
        /// Name of the part or joint.
        place: String,
        /// Begins?
        on: bool,
    },
    /// The vehicle stands on a slope.
    Tilt {
        /// Nose up, degrees.
        degrees: f64,
    },
    /// Somebody listens to a pump.
    Listen {
        /// Which, in the order of the network's motors.
        pump: usize,
    },
    /// Something is perceived and its word kept.
    Look {
        /// What.
        what: Perceived,
    },
}

/// An op and when it was done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Timed {
    /// Simulated time.
    pub(crate) at: Micros,
    /// What was done.
    pub(crate) op: Op,
}
