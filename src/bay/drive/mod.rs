//! What hands do to vehicles and what the vehicles do then: `L` of them put through the same ops at the
//! same times.
//!
//! A drive knows neither rules nor refusals, neither sheet nor learner: those are the
//! [`Bay`](super::Bay)'s, which drives one vehicle. The diagnosis drives many, with other faults,
//! through the ops that a bay recorded. Key, filler cap and the kit on the vehicle are the same for
//! all; parts, faults, engine control and gauge are each vehicle's own. An op that makes no sense at a
//! vehicle (a speed while its engine is stalled) does nothing there.
//!
//! The vehicles and what is wrong with them stay in here.

mod cars;
mod control;
pub(in crate::bay) mod electric;
mod hands;
mod history;
pub(in crate::bay) mod kit;
mod modifiers;
pub(crate) mod op;
mod opened;
mod poured;
pub(in crate::bay) mod probe;
mod senses;
#[cfg(test)]
mod tests;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Mutex;

use super::action::{GaugeRange, Key, Micros, Perceived, SECOND};
use super::observation::{CapSound, EngineRun, GlassLook, LeftOn, PrimerFeel, SampleLook};
use super::truth::Hidden;
use crate::fault::FaultInstance;
use crate::instrument::capture::Captured;
use crate::instrument::clamp::{ClampRange, CurrentClamp};
use crate::instrument::transducer::{Against, Range, Transducer};
use crate::lanes::Lanes;
use crate::plant::Plant;
use crate::plant::assemble::{Detail, Rig, TeeFitting};
use crate::plant::component::Component;
use crate::plant::network::Workspace;
use crate::plant::step::Effort;
use crate::plant::vehicle::Vehicle;
use crate::random::child_seed;
pub(super) use control::{Control, Turn};
use op::Timed;

/// How closely a drive is simulated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fidelity {
    /// As for somebody who watches: full detail, ripple, noise.
    Watched,
    /// As for a reference vehicle, of which levels are wanted: coarse, without ripple and noise.
    Reference,
}

impl Fidelity {
    fn how(self) -> (Detail, Effort) {
        match self {
            Self::Watched => (Detail::FULL, Effort::WATCHED),
            Self::Reference => (Detail::COARSE, Effort::ENSEMBLE),
        }
    }
}

/// Strokes at the primer, as the hand feels them.
#[derive(Clone, Copy, Default)]
struct Strokes {
    done: u32,
    firm_after: Option<u32>,
    firm: bool,
}

/// What each vehicle has for itself, besides its state.
struct Lane {
    hidden: Hidden,
    control: Control,
    gauge: Transducer,
    samples: u64,
    strokes: Strokes,
    cap: Option<CapSound>,
    primer: Option<(PrimerFeel, u32)>,
    /// How the pump sounded when somebody listened last.
    heard: Option<&'static str>,
    levels: Vec<f64>,
    gas: Vec<f64>,
    /// Of the first electric pump; none where nobody asked for it.
    amps: Option<Vec<f64>>,
    words: Vec<Option<&'static str>>,
    numbers: Vec<Option<probe::Measured>>,
    /// How often each test was made in each condition.
    repeats: BTreeMap<String, u64>,
    clamp: CurrentClamp,
    captured: Option<Captured>,
    second_gauge: Option<Transducer>,
    seed: u64,
    electrics: electric::Electrics,
    memory: modifiers::Memory,
    sample: Option<SampleLook>,
    /// Fuel in the measuring jar, mL.
    jar_ml: f64,
    /// Wettest that a leaking place has been so far, mL/s.
    wet: BTreeMap<String, f64>,
}

/// What a display and a glass show at one moment.
pub(super) struct Sample {
    /// Shown pressure, mbar gauge.
    pub(super) mbar: f64,
    /// Share of gas in the glass, 0 … 1.
    pub(super) gas: f64,
    /// Speed of the engine, 1/min.
    pub(super) rpm: f64,
}

/// `L` vehicles under way together.
pub(crate) struct Drive<const L: usize> {
    cars: Vehicle<L>,
    lanes: [Lane; L],
    fidelity: Fidelity,
    now: Micros,
    key: Key,
    cap_open: bool,
    /// Joints of the tee and of the container.
    tee: Option<String>,
    container: Option<String>,
    screw_open: bool,
    range: GaugeRange,
    /// Somebody chose it: a wrong one that came with the kit is put right.
    range_was_chosen: bool,
    /// Joint of the second transducer.
    second: Option<String>,
    pinched: BTreeSet<String>,
    blanked: Option<String>,
    jar: Option<kit::Jar>,
    /// Since when fuel runs into the jar, and how long it did last.
    jar_began: Option<Micros>,
    jar_took: Micros,
    clamp: probe::ClampInHand,
    recorder: Option<probe::Recorder>,
    /// How often the tee was fitted.
    tee_fittings: u32,
    return_in_jar: bool,
    wiggled: Option<String>,
    /// Slope on which the vehicles stand, degrees, nose up positive.
    slope: f64,
    /// The vehicle as it left its maker: with what ought to be in its tank.
    proper: Plant,
    /// How long the vehicles stood before time 0.
    stood: Micros,
    /// Whole seconds at which floats, modified faults and jars are looked at.
    next_mark: Option<Micros>,
    last_mark: Micros,
    /// Times at which the gauge is to be looked at, rising; those looked at so far, and when.
    probes: Vec<Micros>,
    next_probe: usize,
    looked: Vec<Micros>,
    scratch: Vec<Lanes<L>>,
    /// Teeth of the transfer pump, for its ripple.
    teeth: f64,
    /// Workspace for whoever looks into the glass of a vehicle as it is built now.
    eye: Mutex<Option<Workspace<L>>>,
}

impl<const L: usize> Drive<L> {
    /// Vehicles of one make that stood for `stood_s` seconds: each with the tolerances of its seed and
    /// its faults. `probes` are the times (rising) at which their gauges are looked at.
    ///
    /// # Errors
    /// A sentence when a fault doesn't fit or the plant can't be built.
    pub(crate) fn new(
        plant: &Plant,
        stood_s: f64,
        vehicles: [(u64, &[FaultInstance]); L],
        fidelity: Fidelity,
        probes: Vec<Micros>,
    ) -> Result<Self, String> {
        let mut lanes = Vec::with_capacity(L);
        for (seed, faults) in vehicles {
            lanes.push(Lane::new(Hidden::draw(plant, seed, faults)?, seed, fidelity)?);
        }
        Self::with(plant, stood_s, lanes, fidelity, probes)
    }

    fn with(
        plant: &Plant,
        stood_s: f64,
        lanes: Vec<Lane>,
        fidelity: Fidelity,
        probes: Vec<Micros>,
    ) -> Result<Self, String> {
        let stood = (stood_s.max(0.0) * SECOND as f64) as Micros;
        let uncounted = || "a drive has a fixed number of vehicles".to_owned();
        let lanes: [Lane; L] = lanes.try_into().map_err(|_| uncounted())?;
        let ran_before = history::ran_before(plant);
        let stood_alone = if ran_before { 0 } else { stood };
        let cars = cars::cars_at_rest(lanes.each_ref().map(|lane| lane.hidden.plant()), stood_alone, fidelity)?;
        let mut drive = Self {
            cars,
            lanes,
            teeth: teeth(plant),
            fidelity,
            now: 0,
            key: Key::Off,
            cap_open: false,
            tee: None,
            container: None,
            screw_open: false,
            range: GaugeRange::default(),
            range_was_chosen: false,
            second: None,
            pinched: BTreeSet::new(),
            blanked: None,
            jar: None,
            jar_began: None,
            jar_took: 0,
            clamp: probe::ClampInHand::default(),
            recorder: None,
            tee_fittings: 0,
            return_in_jar: false,
            wiggled: None,
            slope: 0.0,
            proper: plant.clone(),
            stood,
            next_mark: None,
            last_mark: 0,
            probes: vec![],
            next_probe: 0,
            looked: vec![],
            scratch: vec![],
            eye: Mutex::new(None),
        };
        drive.look_at_modifiers();
        if ran_before {
            drive.run_and_stand(stood)?;
        }
        drive.keep_marks();
        drive.probes = probes;
        Ok(drive)
    }

    // ---- time -----------------------------------------------------------------------------------

    /// Lets time pass until `t`: controls tick, gauges are looked at when a probe is due. Nothing
    /// happens when `t` is in the past; how time is sliced changes nothing.
    pub(crate) fn advance_to(&mut self, t: Micros) {
        loop {
            let (probe, tick) = (self.next_probe(), self.next_tick());
            let Some(due) = probe.into_iter().chain(tick).min().filter(|&due| due <= t) else { break };
            self.reach(due);
            if probe == Some(due) {
                self.look_at_gauges();
            }
            if tick == Some(due) {
                self.tick();
            }
        }
        if t > self.now {
            self.reach(t);
        }
    }

    /// Goes through ops, each at its time.
    ///
    /// # Errors
    /// As [`apply`](Self::apply).
    pub(crate) fn go_through(&mut self, ops: &[Timed]) -> Result<(), String> {
        for Timed { at, op } in ops {
            self.advance_to(*at);
            self.apply(op)?;
        }
        Ok(())
    }

    pub(crate) fn now(&self) -> Micros {
        self.now
    }

    // ---- probes ---------------------------------------------------------------------------------

    /// When the gauges must be looked at next; never while no tee is fitted.
    fn next_probe(&self) -> Option<Micros> {
        self.tee.as_ref()?;
        self.probes.get(self.next_probe).map(|&t| t.max(self.now))
    }

    fn look_at_gauges(&mut self) {
        while self.probes.get(self.next_probe).is_some_and(|&t| t <= self.now) {
            self.next_probe += 1;
        }
        self.looked.push(self.now);
        for lane in 0..L {
            let (mbar, gas) = self.sample(lane).map_or((f64::NAN, f64::NAN), |s| (s.mbar, s.gas));
            self.lanes[lane].levels.push(mbar);
            self.lanes[lane].gas.push(gas);
            if self.lanes[lane].amps.is_some() {
                let amps = self.amps(lane, 0);
                self.lanes[lane].amps.iter_mut().for_each(|seen| seen.push(amps));
            }
        }
    }

    /// From now on the mean current of the first electric pump is kept with each look; nothing where there is none.
    pub(crate) fn watch_current(&mut self) {
        if self.pumps() > 0 {
            self.lanes.iter_mut().for_each(|lane| lane.amps = Some(vec![]));
        }
    }

    /// That current at the times of the looks, A; none where it wasn't watched.
    pub(crate) fn amps_seen(&self, lane: usize) -> Option<&[f64]> {
        self.lanes[lane].amps.as_deref()
    }

    /// What the instrument shows of a vehicle now; none while no tee is fitted.
    pub(super) fn sample(&mut self, lane: usize) -> Option<Sample> {
        let mut scratch = std::mem::take(&mut self.scratch);
        let seen = self.at_tee(lane, &mut scratch);
        self.scratch = scratch;
        let (line_mbar, gas, rpm) = seen?;
        let air_mbar = self.air_mbar(lane);
        let Lane { gauge, samples, hidden, .. } = &mut self.lanes[lane];
        let seen = match gauge.range().against {
            Against::Air => line_mbar,
            Against::Vacuum => line_mbar + air_mbar,
        };
        let mbar = gauge.show(self.now, seen, *samples);
        *samples += 1;
        let mbar = if self.range_was_chosen { mbar } else { hidden.kit().spoil(mbar) };
        Some(Sample { mbar, gas, rpm })
    }

    /// Another transducer is on the hose: not zeroed, with an offset of its own.
    pub(super) fn change_range(&mut self, lane: usize, range: GaugeRange) {
        let hose_air = self.lanes[lane].gauge.hose_air;
        let vehicle = &mut self.lanes[lane];
        vehicle.gauge = transducer(range, vehicle.seed, &vehicle.hidden, self.fidelity);
        vehicle.gauge.hose_air = hose_air;
        self.range = range;
        self.range_was_chosen = true;
    }

    /// The display is set to zero with the hose open to the air.
    pub(super) fn zero_gauge(&mut self, lane: usize) {
        let air_mbar = self.air_mbar(lane);
        let gauge = &mut self.lanes[lane].gauge;
        match gauge.range().against {
            Against::Air => gauge.set_zero(),
            Against::Vacuum => gauge.zero_at(air_mbar),
        }
    }

    /// Range of the transducer on the hose.
    pub(super) fn range(&self) -> GaugeRange {
        self.range
    }

    /// Both ends and the step of what the display can show, mbar.
    pub(super) fn gauge_ends(&self) -> (f64, f64, f64) {
        let lane = &self.lanes[0];
        let (range, kit) = (lane.gauge.range(), lane.hidden.kit());
        let (low, high, step) = (range.low_mbar, range.high_mbar, range.step_mbar());
        if self.range_was_chosen {
            return (low, high, step);
        }
        // the range that came with the kit
        let end = kit.clips_at_mbar.unwrap_or(f64::INFINITY);
        (low.max(-end), high.min(end), step.max(kit.steps_mbar).min(0.5 * end))
    }

    /// When the gauges were looked at so far.
    pub(crate) fn looked(&self) -> &[Micros] {
        &self.looked
    }

    /// What the gauge of a vehicle showed at those times, mbar gauge.
    pub(crate) fn levels(&self, lane: usize) -> &[f64] {
        &self.lanes[lane].levels
    }

    /// Share of gas in the glass of a vehicle at those times, 0 … 1.
    pub(crate) fn gas_seen(&self, lane: usize) -> &[f64] {
        &self.lanes[lane].gas
    }

    /// The word for each look at a vehicle so far; none where there was nothing to perceive.
    pub(crate) fn words(&self, lane: usize) -> &[Option<&'static str>] {
        &self.lanes[lane].words
    }

    // ---- what can be perceived ------------------------------------------------------------------

    /// How something is right now, as a word; none when there is nothing to perceive.
    pub(super) fn perceived(&self, lane: usize, what: Perceived) -> Option<&'static str> {
        match what {
            Perceived::Glass => self.gas_in_glass(lane).map(|gas| GlassLook::of_gas_share(gas).word()),
            Perceived::Primer => self.lanes[lane].primer.map(|(feel, _)| feel.word()),
            Perceived::Cap => self.lanes[lane].cap.map(CapSound::word),
            Perceived::Engine => Some(self.engine_run(lane).word()),
            Perceived::Sample => self.lanes[lane].sample.map(SampleLook::word),
            // what was listened to is remembered while none is fed
            Perceived::Pump => match (0..self.net().top.motors.len()).any(|k| self.pump_is_fed(lane, k)) {
                true => self.pump_now(lane),
                false => self.lanes[lane].heard.or_else(|| self.pump_now(lane)),
            },
        }
    }

    /// How the pump sounds now: of two the one that is at work, or ought to be.
    fn pump_now(&self, lane: usize) -> Option<&'static str> {
        let pumps = 0..self.net().top.motors.len();
        let loud = pumps.clone().find(|&k| self.pump_is_fed(lane, k));
        loud.or(pumps.last()).map(|k| self.pump_sound(lane, k).word())
    }

    /// How an engine turns.
    pub(crate) fn engine_run(&self, lane: usize) -> EngineRun {
        let control = &self.lanes[lane].control;
        if control.is_cranking() {
            return EngineRun::Cranking;
        }
        if control.stalled {
            return EngineRun::Stalled;
        }
        if !control.running {
            return EngineRun::Off;
        }
        if self.rpm(lane) < 0.93 * control.asked || self.gas_in_pump(lane) > 0.05 {
            EngineRun::Uneven
        } else {
            EngineRun::Steady
        }
    }

    pub(super) fn key(&self) -> Key {
        self.key
    }

    pub(super) fn cap_open(&self) -> bool {
        self.cap_open
    }

    /// Joint of the tee, when it is fitted.
    pub(super) fn tee(&self) -> Option<&str> {
        self.tee.as_deref()
    }

    /// Joint that the container feeds.
    pub(super) fn container(&self) -> Option<&str> {
        self.container.as_deref()
    }

    /// What the cap did when it was opened last.
    pub(super) fn cap(&self, lane: usize) -> Option<CapSound> {
        self.lanes[lane].cap
    }

    /// How the primer felt at the last strokes, and after how many it was firm (or how many there were).
    pub(super) fn primer(&self, lane: usize) -> Option<(PrimerFeel, u32)> {
        self.lanes[lane].primer
    }

    /// Joint of the second transducer.
    pub(super) fn second(&self) -> Option<&str> {
        self.second.as_deref()
    }

    /// What must be off again before the vehicle leaves.
    pub(super) fn left_on(&self) -> Vec<LeftOn> {
        let pinched = self.pinched.iter().cloned().map(LeftOn::Jaws);
        let plug = self.blanked.iter().cloned().map(LeftOn::Plug);
        let second = self.second.iter().cloned().map(LeftOn::Second);
        let bridged = self.bridged(0).map(|part| LeftOn::Lead(part.to_owned()));
        pinched.chain(plug).chain(second).chain(bridged).collect()
    }

    /// Something blocks the vehicle's own fuel.
    pub(super) fn is_blocked(&self) -> bool {
        !self.pinched.is_empty() || self.blanked.is_some()
    }

    /// Joint that is plugged.
    pub(super) fn blanked(&self) -> Option<&str> {
        self.blanked.as_deref()
    }

    /// A hose is pinched.
    pub(super) fn is_pinched(&self, part: &str) -> bool {
        self.pinched.contains(part)
    }

    /// Slope on which the vehicle stands, degrees.
    pub(super) fn slope(&self) -> f64 {
        self.slope
    }

    /// Places that are or have been wet, with the most liquid that came out there, mL/s.
    pub(super) fn wet(&self, lane: usize) -> impl Iterator<Item = (&str, f64)> {
        self.lanes[lane].wet.iter().map(|(place, flow)| (place.as_str(), *flow))
    }

    pub(super) fn control(&self, lane: usize) -> &Control {
        &self.lanes[lane].control
    }

    // ---- what is hidden -------------------------------------------------------------------------

    pub(super) fn hidden(&self, lane: usize) -> &Hidden {
        &self.lanes[lane].hidden
    }

    /// The joint on the other side of the nearest filter or pump, where no other joint lies between; else the same.
    fn across(&self, joint: &str) -> String {
        let beyond = |ahead: bool| {
            let (mut at, mut split) = (joint.to_owned(), false);
            // a plant has no longer way than its parts
            for _ in &self.proper.parts {
                let (next, splits) = self.next_to(&at, ahead)?;
                split |= splits;
                if self.proper.node(&next).is_some_and(|n| n.joint.is_some()) {
                    return split.then_some(next);
                }
                at = next;
            }
            None
        };
        beyond(false).or_else(|| beyond(true)).unwrap_or_else(|| joint.to_owned())
    }

    /// The node at the other end of the part that leads on from a node, and whether that is a filter or a pump.
    fn next_to(&self, node: &str, ahead: bool) -> Option<(String, bool)> {
        self.proper.parts.iter().find_map(|part| {
            let splits = matches!(
                part.is,
                Component::Filter(_)
                    | Component::GearPump(_)
                    | Component::DiaphragmPump(_)
                    | Component::ElectricPump(_)
            );
            match part.is.ends()[..] {
                [from, to] if ahead && from == node => Some((to.to_owned(), splits)),
                [from, to] if !ahead && to == node => Some((from.to_owned(), splits)),
                _ => None,
            }
        })
    }

    /// The tee went in on the other side than it was meant to: a slip of the first fitting.
    fn on_the_other_side(&self, lane: usize) -> bool {
        self.tee_fittings == 1 && self.lanes[lane].hidden.kit().other_side
    }

    /// Joint at which the tee of a vehicle really sits.
    pub(super) fn tee_really_at(&self, lane: usize) -> Option<String> {
        let joint = self.tee.as_ref()?;
        Some(if self.on_the_other_side(lane) { self.across(joint) } else { joint.clone() })
    }

    /// The kit as it is on a vehicle: what is wrong with it is the vehicle's own.
    fn rig(&self, lane: usize) -> Rig {
        let kit = self.lanes[lane].hidden.kit();
        Rig {
            tee: self.tee_really_at(lane).map(|joint| TeeFitting {
                joint,
                hose_air: self.lanes[lane].gauge.hose_air,
                valve_reach: kit::reach_behind((1.0 - kit.valve_short_of_open).max(0.0), kit.hose_resistance),
            }),
            container: self.container.clone(),
        }
    }
}

/// The transducer of a range out of a tester's drawer; every range is another one.
fn transducer(range: GaugeRange, seed: u64, hidden: &Hidden, fidelity: Fidelity) -> Transducer {
    let (which, range) = match range {
        GaugeRange::Suction => (0, Range::SUCTION),
        GaugeRange::Pressure => (1, Range::FEED),
        GaugeRange::Absolute => (2, Range::ABSOLUTE),
    };
    let noisy = fidelity == Fidelity::Watched;
    Transducer::in_range(range, child_seed(seed, "transducer", which), hidden.kit().offset_mbar, noisy)
}

impl Lane {
    fn new(hidden: Hidden, seed: u64, fidelity: Fidelity) -> Result<Self, String> {
        Ok(Self {
            control: Control::new(hidden.plant())?,
            electrics: electric::Electrics::new(hidden.plant()),
            gauge: transducer(GaugeRange::default(), seed, &hidden, fidelity),
            hidden,
            samples: 0,
            strokes: Strokes::default(),
            cap: None,
            primer: None,
            heard: None,
            levels: vec![],
            gas: vec![],
            amps: None,
            words: vec![],
            numbers: vec![],
            repeats: BTreeMap::new(),
            clamp: CurrentClamp::new(seed, ClampRange::SMALL),
            captured: None,
            second_gauge: None,
            seed,
            memory: modifiers::Memory::default(),
            sample: None,
            jar_ml: 0.0,
            wet: BTreeMap::new(),
        })
    }
}

impl Drive<1> {
    /// A reference vehicle whose tolerances are given, in standard deviations ([`crate::bay::draw::with_given`]).
    ///
    /// # Errors
    /// As [`new`](Drive::new).
    pub(crate) fn given(
        plant: &Plant,
        stood_s: f64,
        (deviations, faults): (&[f64], &[FaultInstance]),
        probes: Vec<Micros>,
    ) -> Result<Self, String> {
        let fidelity = Fidelity::Reference;
        let lane = Lane::new(Hidden::given(plant, deviations, faults)?, 0, fidelity)?;
        Self::with(plant, stood_s, vec![lane], fidelity, probes)
    }
}

/// Teeth of the gear pump, where there is one.
fn teeth(plant: &Plant) -> f64 {
    let gear = plant.parts.iter().find_map(|p| if let Component::GearPump(g) = &p.is { Some(g) } else { None });
    gear.map_or(1.0, |g| f64::from(g.teeth))
}
