//! What a meter, a stick or a jar shows of one vehicle at one moment.
//!
//! Every reading goes through its instrument: steps, range, noise, and the errors that this tester's instrument has for
//! good. Noise is a function of the vehicle's seed, what is read, the condition it is read in (key, how the engine runs,
//! speed asked for, load) and how often that was read before; so two learners who do the same see the same, whatever
//! else they did. The clamp's zero creeps with the time since it was taken in hand.
//!
//! Reference vehicles are read by instruments of the same kind without errors: cut to the same range, a probe on a pipe as
//! cold; how far the learner's reading may be off is told by the instrument ([`Doubt`]) and kept with it.

use super::{Drive, Fidelity};
use crate::bay::action::{Key, Micros, Probe, SECOND};
use crate::instrument::capture::{self, Captured, Moment, Ripple};
use crate::instrument::clamp::{ClampRange, CurrentClamp};
use crate::instrument::display::{Doubt, Shown, stepped};
use crate::instrument::jar::Jar;
use crate::instrument::motor_current::Commutator;
use crate::instrument::stick;
use crate::instrument::thermometer::{self, Thermometer, felt};
use crate::instrument::transducer::{Range, Transducer};
use crate::instrument::vehicle_sensor::{Build, VehicleSensor};
use crate::instrument::voltmeter::{VoltRange, Voltmeter};
use crate::random::child_seed;
use crate::units::{GaugePressure, PA_PER_MBAR, PressureDifference, Temperature, ZERO_CELSIUS_K};

/// How long a thermometer is held.
const HELD_S: u64 = 120;
/// Step of a control's effort as it reports it, %.
const EFFORT_STEP: f64 = 0.4;
/// Step of the rev counter, 1/min.
const REVS_STEP: f64 = 10.0;
/// Jar on the bench.
const JAR: Jar = Jar::TWO_LITRES;
/// Millibar in a pascal.
const MBAR: f64 = 1.0 / PA_PER_MBAR;

/// A number that was read, in its quantity's own unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// What the instrument shows.
    pub shown: Shown,
    /// How far that may be off.
    pub doubt: Doubt,
}

/// The tester's clamp as far as all vehicles share it: what was done with it.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct ClampInHand {
    large: bool,
    since: Option<Micros>,
    zeroed: Option<Micros>,
}

impl ClampInHand {
    const fn range(self) -> ClampRange {
        if self.large { ClampRange::LARGE } else { ClampRange::SMALL }
    }

    /// Time in hand, µs.
    fn age(self, now: Micros) -> u64 {
        now - self.since.unwrap_or(now)
    }

    /// When it was zeroed, on the same clock.
    fn zeroed(self) -> Option<u64> {
        self.zeroed.map(|at| at - self.since.unwrap_or(at))
    }
}

/// A fast record under way.
pub(super) struct Recorder {
    motor: usize,
    next: Micros,
    /// Moments of every vehicle.
    moments: Vec<Vec<Moment>>,
}

/// Longest record.
const LONGEST: usize = 2000;

impl<const L: usize> Drive<L> {
    /// Reads and keeps the number.
    pub(super) fn probe(&mut self, lane: usize, probe: &Probe) {
        if matches!(probe, Probe::Clamp { .. }) {
            self.clamp.since.get_or_insert(self.now);
        }
        let measured = self.read(lane, probe);
        let test = self.test(lane, probe);
        let lane = &mut self.lanes[lane];
        *lane.repeats.entry(test).or_insert(0) += 1;
        lane.numbers.push(measured);
    }

    /// What is read and in which condition.
    fn test(&self, lane: usize, probe: &Probe) -> String {
        let control = &self.lanes[lane].control;
        let key = if self.key == Key::On { "on" } else { "off" };
        let (run, load) = (self.engine_run(lane).word(), 10.0 * self.load(lane));
        format!("{probe:?} key {key} engine {run} at {:.0} load {load:.0}", control.asked)
    }

    /// Number of the next reading's noise: of the vehicle, the test, its condition and how often it was made.
    fn reading(&self, lane: usize, probe: &Probe) -> u64 {
        let test = self.test(lane, probe);
        let lane = &self.lanes[lane];
        child_seed(lane.seed, &test, lane.repeats.get(&test).copied().unwrap_or(0)) >> 2
    }

    /// What an instrument shows of a probe now; none where there is nothing to read.
    pub(in crate::bay) fn read(&self, lane: usize, probe: &Probe) -> Option<Measured> {
        let watched = self.fidelity == Fidelity::Watched;
        let (seed, n) = (self.lanes[lane].seed, if watched { self.reading(lane, probe) } else { 0 });
        let (shown, doubt) = match probe {
            Probe::Volts { from, to } => self.volts(lane, self.volts_between(lane, from, to)?, n),
            Probe::Battery => self.volts(lane, self.battery_volts(lane), n),
            Probe::Clamp { part } => self.clamped(lane, self.lead_amps(lane, part)?, n),
            Probe::Second => self.second_shows(lane, self.gauge_at(lane, self.second.as_deref()?)?, n)?,
            Probe::Thermometer { place } => self.touched(lane, self.vessel_of(place)?, n),
            Probe::Jar => {
                let (ml, secs) = (self.in_jar(lane), self.jar_for_s());
                let exact = Shown::within(ml.max(0.0), 0.0, 1e6 * JAR.holds.si());
                (if watched { JAR.after(seed, ml, secs, n) } else { exact }, JAR.doubt(ml.max(0.0), secs))
            }
            Probe::Dip => {
                let level = self.dip(lane)?;
                (if watched { stick::read(seed, level, n) } else { exactly(level) }, stick::doubt())
            }
            Probe::OwnSensor => self.sensor_sends(lane, n)?,
            Probe::Effort => {
                in_steps(100.0 * (0..self.pumps()).find_map(|k| self.effort(lane, k))?, EFFORT_STEP, watched)
            }
            Probe::Revs => in_steps(self.rpm(lane), REVS_STEP, watched),
            Probe::RecordMean => self.recorded(lane, |c| Some(c.mean))?,
            Probe::RecordPeak => self.recorded(lane, |c| Some(c.peak))?,
            Probe::RecordSwing => {
                let (shown, doubt) = self.recorded(lane, |c| Some(c.swing))?;
                // a zero that is off shifts both ends alike; noise widens the swing
                let noise = 3.0 * self.clamp.range().noise;
                (shown, Doubt { random: noise, bias: 0.005 * shown.value, ..doubt })
            }
            Probe::RecordUneven => {
                let (shown, _) = self.recorded(lane, |c| c.uneven.map(exactly))?;
                // noise of many samples a hump, and the gain cancels
                (shown, Doubt { random: 0.2, bias: 0.01 * shown.value, step: 0.1 })
            }
        };
        Some(Measured { shown, doubt })
    }

    fn volts(&self, lane: usize, volts: f64, n: u64) -> (Shown, Doubt) {
        let range = VoltRange::fitting(volts);
        let meter = Voltmeter::new(self.lanes[lane].seed, range);
        let shown = match self.fidelity {
            Fidelity::Watched => meter.read(Some(volts), Some(0.0), n),
            Fidelity::Reference => Shown::within(volts, -range.most(), range.most()),
        };
        (shown, meter.doubt(volts))
    }

    fn clamped(&self, lane: usize, amps: f64, n: u64) -> (Shown, Doubt) {
        let (range, age) = (self.clamp.range(), self.clamp.age(self.now));
        let clamp = &self.lanes[lane].clamp;
        let shown = match self.fidelity {
            Fidelity::Watched => clamp.steady(age, amps, n),
            Fidelity::Reference => Shown::within(amps, -range.most, range.most),
        };
        (shown, clamp.doubt(age, amps, self.clamp.zeroed()))
    }

    fn second_shows(&self, lane: usize, gauge_pa: f64, n: u64) -> Option<(Shown, Doubt)> {
        let mut gauge = self.lanes[lane].second_gauge.clone()?;
        let (mbar, range) = (gauge_pa * MBAR, gauge.range());
        gauge.settle();
        let shown = match self.fidelity {
            Fidelity::Watched => gauge.read(self.now, mbar, n),
            Fidelity::Reference => Shown::within(mbar, range.low_mbar, range.high_mbar),
        };
        Some((shown, gauge.doubt(mbar)))
    }

    /// A probe held to the outside of a part for two minutes.
    fn touched(&self, lane: usize, vessel: usize, n: u64) -> (Shown, Doubt) {
        let kelvin = |k: f64| Temperature::from_celsius(k - ZERO_CELSIUS_K);
        let thing = kelvin(self.temperature(lane, vessel));
        let air = kelvin(self.air_around(lane, vessel));
        let on_pipe = thermometer::Probe::OnPipe;
        let shown = match self.fidelity {
            Fidelity::Watched => {
                let mut probe = Thermometer::new(self.lanes[lane].seed, air, 0);
                probe.read(HELD_S * SECOND, on_pipe, thing, air, n)
            }
            Fidelity::Reference => exactly(felt(on_pipe, thing, air)),
        };
        (shown, Thermometer::doubt())
    }

    /// What the vehicle's own sensor of a controlled pressure sends, mbar.
    fn sensor_sends(&self, lane: usize, n: u64) -> Option<(Shown, Doubt)> {
        let felt = (0..self.pumps()).find_map(|k| self.own_sensor(lane, k))?;
        let shown = match self.fidelity {
            Fidelity::Watched => {
                // its bias is the vehicle's and already in what it feels
                let mut sensor =
                    VehicleSensor::new(self.lanes[lane].seed, Build::FEED, PressureDifference::from_si(0.0));
                sensor.read(self.now, GaugePressure::from_si(felt), n)
            }
            Fidelity::Reference => Shown::within(felt, Build::FEED.low.si(), Build::FEED.high.si()),
        };
        let doubt = VehicleSensor::doubt(Build::FEED);
        let in_mbar = Doubt { random: doubt.random * MBAR, bias: doubt.bias * MBAR, step: doubt.step * MBAR };
        Some((Shown { value: shown.value * MBAR, ..shown }, in_mbar))
    }

    /// Height of fuel in the first tank, mm.
    fn dip(&self, lane: usize) -> Option<f64> {
        let r = self.net().top.reservoirs.first()?;
        Some(1000.0 * self.state(lane, r.v) / self.net().at(r.area).0[lane])
    }

    /// The numbers read off a vehicle so far, one for each reading; none where there was nothing to read.
    pub(crate) fn numbers(&self, lane: usize) -> &[Option<Measured>] {
        &self.lanes[lane].numbers
    }

    // ---- clamp and fast record ------------------------------------------------------------------

    /// Takes the clamp in hand in a range and sets it to zero with nothing in its jaws.
    pub(super) fn zero_clamp(&mut self, large: bool) {
        self.clamp.large = large;
        self.clamp.since.get_or_insert(self.now);
        self.clamp.zeroed = Some(self.now);
        let (age, range) = (self.clamp.age(self.now), self.clamp.range());
        for lane in &mut self.lanes {
            if lane.clamp.range() != range {
                lane.clamp = CurrentClamp::new(lane.seed, range);
            }
            lane.clamp.set_zero(age);
        }
    }

    /// Begins a fast record of a pump's current.
    pub(super) fn begin_record(&mut self, part: &str) {
        self.clamp.since.get_or_insert(self.now);
        if let Some(motor) = self.pump_index(part) {
            self.recorder = Some(Recorder { motor, next: self.now, moments: vec![vec![]; L] });
        }
    }

    /// Notes the smooth current of every vehicle up to `t`, a millisecond apart.
    pub(super) fn record_until(&mut self, t: Micros) {
        let Some(mut recorder) = self.recorder.take() else { return };
        while recorder.next <= t && recorder.moments.first().is_some_and(|list| list.len() < LONGEST) {
            self.pass_to(recorder.next);
            let i = self.net().top.motors[recorder.motor].i;
            for (lane, list) in recorder.moments.iter_mut().enumerate() {
                let turns = self.state(lane, i + 3);
                list.push(Moment { at: self.now, amps: self.amps(lane, recorder.motor), turns });
            }
            recorder.next += capture::MOMENTS;
        }
        self.recorder = Some(recorder);
    }

    /// Ends it; what it shows stays until the next.
    pub(super) fn end_record(&mut self) {
        let Some(recorder) = self.recorder.take() else { return };
        let (range, since, zeroed) =
            (self.clamp.range(), self.clamp.since.unwrap_or(self.now), self.clamp.zeroed());
        for (lane, moments) in recorder.moments.iter().enumerate() {
            let ripple = self.current_ripple(lane, recorder.motor);
            let first = self.reading(lane, &Probe::RecordMean);
            let clamp = (self.fidelity == Fidelity::Watched).then_some(&self.lanes[lane].clamp);
            self.lanes[lane].captured = capture::record(clamp, range, since, zeroed, moments, ripple, first);
        }
    }

    /// What makes the current of a pump's motor ripple.
    fn current_ripple(&self, lane: usize, k: usize) -> Ripple {
        let net = self.net();
        let motor = &net.top.motors[k];
        let plant = self.lanes[lane].hidden.plant();
        let pump = plant.electric_pumps().find(|(part, _)| part.name == motor.name).map(|(_, pump)| pump);
        let (segments, worn, uneven) = pump.map_or((8, 0.0, 0.0), |p| (p.segments, p.worn_segment, p.uneven));
        let at = |param| net.at(param).0[lane];
        let ohm = at(motor.winding) + at(motor.circuit);
        let speed = self.state(lane, motor.i + 1);
        Ripple {
            commutator: Commutator { segments: u32::from(segments), worn },
            once_a_turn: capture::once_a_turn(
                uneven,
                at(motor.constant),
                at(motor.inertia),
                speed,
                ohm,
                at(motor.inductance),
            ),
        }
    }

    fn recorded(&self, lane: usize, of: impl Fn(&Captured) -> Option<Shown>) -> Option<(Shown, Doubt)> {
        let captured = self.lanes[lane].captured.as_ref()?;
        Some((of(captured)?, captured.doubt))
    }

    /// Speed of the pump by the count of the last record's ripple, 1/min.
    pub(in crate::bay) fn speed_by_ripple(&self, lane: usize) -> Option<f64> {
        self.lanes[lane].captured.as_ref()?.rpm
    }

    /// The clamp was zeroed at some time.
    pub(in crate::bay) const fn clamp_is_zeroed(&self) -> bool {
        self.clamp.zeroed.is_some()
    }
}

/// A second transducer out of the drawer, zeroed before it is fitted.
pub(super) fn second_transducer(seed: u64, pushed: bool, noisy: bool) -> Transducer {
    let range = if pushed { Range::FEED } else { Range::SUCTION };
    let mut gauge = Transducer::in_range(range, child_seed(seed, "second transducer", 0), 0.0, noisy);
    gauge.set_zero();
    gauge
}

const fn exactly(value: f64) -> Shown {
    Shown { value, over_range: false }
}

fn in_steps(value: f64, step: f64, watched: bool) -> (Shown, Doubt) {
    (exactly(if watched { stepped(value, step) } else { value }), Doubt::of_step(step))
}
