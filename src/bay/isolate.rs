//! Tests that split the supply: what each needs, costs and may break, and what it shows.
//!
//! Numbers are what the instruments show (`drive/probe.rs`), errors and all. Minutes are those of a competent technician on an accessible vehicle (training values). Every number that is read is
//! kept with its test, so that what is written down later can be held against it.

use super::action::{Key, MINUTE, Micros, Probe, Quantity, SECOND};
use super::drive::kit::plugged_part;
use super::drive::op::Op;
use super::observation::{EngineRun, Meter, ReadCode};
use super::sheet::number_on_paper;
use super::words::told;
use super::work::SEALS_CREDITS;
use super::{Bay, Measured};
use crate::instrument::display::Doubt;
use crate::language::said;
use crate::plant::component::{Command, Component};
use crate::tell;

/// Depression that a hand pump draws at the tee, and pressure that the air test puts on, mbar.
const DRAWN_MBAR: f64 = -600.0;
const BLOWN_MBAR: f64 = 300.0;
/// Strokes of that pump, one a second.
const STROKES: u32 = 12;
/// How long a fast record of a current lasts, and one from the turn of the key.
const RECORDED: Micros = SECOND * 12 / 100;
const INRUSH: Micros = SECOND / 2;
/// How long the section is watched.
const WATCHED: Micros = 5 * MINUTE;
/// Longest cranking for a delivery.
const CRANKED_S: f64 = 15.0;
/// Warm air and a wet cloth, K.
const WARMER_K: f64 = 25.0;
const COOLER_K: f64 = -15.0;
/// Steepest slope in the yard, degrees.
const STEEPEST: f64 = 20.0;
/// Pressure in a joint from which fuel comes out of it by itself, Pa.
const RUNS_OUT_PA: f64 = 500.0;

/// One thing that a test showed.
pub(super) struct Shown {
    pub(super) meter: Meter,
    pub(super) probe: Probe,
    /// Which of the drive's numbers it is.
    pub(super) index: usize,
    /// How far the instrument may be off there.
    pub(super) doubt: Doubt,
}

/// A number with its unit, as a colleague reads it out.
fn aloud(quantity: Quantity, value: f64) -> String {
    let digits = match quantity {
        Quantity::Voltage if value.abs() < 2.0 => format!("{value:.3}").replace('-', "\u{2212}"),
        Quantity::Voltage | Quantity::Current => format!("{value:.2}").replace('-', "\u{2212}"),
        Quantity::Temperature | Quantity::Duty => format!("{value:.1}").replace('-', "\u{2212}"),
        _ => number_on_paper(value.round()),
    };
    let unit = match quantity {
        Quantity::Temperature => "°C",
        Quantity::Speed => "1/min",
        _ => quantity.unit().symbol(),
    };
    crate::language::decimal(format!("{digits} {unit}"))
}

impl Bay {
    /// Reads something, keeps it, and gives the number.
    fn read(&mut self, probe: Probe, what: &str) -> Result<f64, String> {
        if self.drive.read(0, &probe).is_none() {
            return Err(match probe {
                Probe::Volts { .. } => tell!("bay-read-leads-at", points = self.drive.points(0).join(", ")),
                Probe::Clamp { .. } => said("bay-read-nothing-to-clamp").into(),
                Probe::Second => said("bay-read-no-second").into(),
                Probe::Thermometer { .. } => said("bay-read-no-place").into(),
                Probe::OwnSensor | Probe::Effort => said("bay-read-no-own-sensor").into(),
                Probe::RecordUneven => said("bay-read-no-humps").into(),
                Probe::RecordMean | Probe::RecordPeak | Probe::RecordSwing => {
                    said("bay-read-nothing-recorded").into()
                }
                _ => said("bay-read-nothing").into(),
            });
        }
        self.hands(Op::Probe { probe: probe.clone() })?;
        let index = self.drive.numbers(0).len() - 1;
        let Some(Measured { shown, doubt }) = self.drive.numbers(0)[index] else {
            return Err(said("bay-read-nothing").into());
        };
        let (quantity, over_range) = (probe.quantity(), shown.over_range);
        let meter = Meter { at: self.now(), what: what.to_owned(), quantity, value: shown.value, over_range };
        self.shown.push(Shown { meter, probe, index, doubt });
        Ok(shown.value)
    }

    /// A warning when what was read last lies at the end of its instrument's range.
    fn over_range(&self) -> &'static str {
        match self.shown.last() {
            Some(s) if s.meter.over_range && s.probe == Probe::Jar => said("bay-read-ran-over"),
            Some(s) if s.meter.over_range => said("bay-read-over-range"),
            _ => "",
        }
    }

    pub(super) fn measure(&mut self, probe: &Probe) -> Result<String, String> {
        let what = told::probe(probe, |place| self.label_of(place));
        let minutes = match probe {
            Probe::Volts { .. } | Probe::Thermometer { .. } => 2,
            Probe::Clamp { .. } | Probe::OwnSensor | Probe::Effort | Probe::Battery => 1,
            Probe::Dip => 3,
            Probe::Second
            | Probe::Jar
            | Probe::Revs
            | Probe::RecordMean
            | Probe::RecordPeak
            | Probe::RecordSwing
            | Probe::RecordUneven => 0,
        };
        if self.drive.read(0, probe).is_some() {
            if *probe == Probe::Dip {
                self.engine_must_stand()?;
                self.before_open_filler();
            }
            self.spend(minutes * MINUTE);
        }
        let value = self.read(probe.clone(), &what)?;
        if let Probe::Clamp { part } = probe {
            self.clamp = Some(part.clone());
        }
        let live = !matches!(probe, Probe::Volts { .. }) || self.drive.pump_turns(0);
        let aside = if live { "" } else { said("bay-read-no-pump-running") };
        let zero = if matches!(probe, Probe::Clamp { .. }) { self.zero_aside() } else { "" };
        let over = self.over_range();
        Ok(format!("{}: {}.{aside}{zero}{over}", capital(&what), aloud(probe.quantity(), value)))
    }

    fn zero_aside(&self) -> &'static str {
        if self.drive.clamp_is_zeroed() { "" } else { said("bay-read-clamp-not-zeroed") }
    }

    pub(super) fn zero_clamp(&mut self, large: bool) -> Result<String, String> {
        self.spend(MINUTE);
        self.hands(Op::ZeroClamp { large })?;
        let range = if large { "200 A" } else { "20 A" };
        Ok(tell!("bay-clamp-zeroed", range = range))
    }

    /// A fast record of a pump's current: as it runs, or from the turn of the key.
    pub(super) fn capture(&mut self, part: &str, start: bool) -> Result<String, String> {
        let k = self.drive.pump_index(part).ok_or(said("bay-read-no-pump-to-clamp"))?;
        let before = self.drive.key();
        if start && self.drive.pump_is_fed(0, k) {
            return Err(said("bay-capture-fed-already").into());
        }
        self.spend(2 * MINUTE);
        if start {
            self.hands(Op::Key { to: Key::Off })?;
        }
        self.hands(Op::Capture { part: part.to_owned() })?;
        if start {
            self.turn_key_on()?;
        }
        self.spend(if start { INRUSH } else { RECORDED });
        self.hands(Op::CaptureEnd)?;
        if start && before == Key::Off {
            self.hands(Op::Key { to: Key::Off })?;
        }
        self.clamp = Some(part.to_owned());
        let label = self.label_of(part);
        self.mark("current recorded");
        let swing = self.read(Probe::RecordSwing, said("bay-meter-swing"))?;
        let uneven = self.drive.read(0, &Probe::RecordUneven).map(|m| m.shown.value);
        if uneven.is_some() {
            self.read(Probe::RecordUneven, said("bay-meter-uneven"))?;
        }
        let peak = self.read(Probe::RecordPeak, said("bay-meter-peak"))?;
        let mean = self.read(Probe::RecordMean, &tell!("bay-meter-mean-current", label = label))?;
        let [mean, peak, swing] = [mean, peak, swing].map(|amps| aloud(Quantity::Current, amps));
        let humps = uneven.map_or_else(
            || said("bay-capture-no-humps").to_owned(),
            |share| tell!("bay-capture-humps", share = format!("{share:.1}")),
        );
        let speed = self.drive.speed_by_ripple(0);
        let speed = speed.map_or_else(String::new, |rpm| tell!("bay-capture-speed", rpm = format!("{rpm:.0}")));
        let zero = self.zero_aside();
        let over = self.over_range();
        Ok(tell!(
            "bay-capture-result",
            part = capital(&label),
            mean = mean,
            peak = peak,
            swing = swing,
            humps = humps,
            speed = speed,
            zero = zero,
            over = over
        ))
    }

    fn label_of(&self, name: &str) -> String {
        self.job.plant.part(name).map_or_else(|| self.joint_label(name), |p| p.label.clone())
    }

    // ---- tank and listening ---------------------------------------------------------------------

    pub(super) fn sample(&mut self) -> Result<String, String> {
        self.engine_must_stand()?;
        self.before_open_filler();
        self.spend(10 * MINUTE);
        self.hands(Op::Sample)?;
        let level = self.read(Probe::Dip, "dip stick")?;
        let tank = self.job.plant.tank().ok_or(said("bay-sample-no-tank"))?;
        let litres = level * tank.area.si();
        let of = tank.capacity.si() * 1e3;
        let look = self.perceived(super::action::Perceived::Sample)?;
        let seen = match look {
            "clear" => said("bay-sample-seen-clear"),
            "hazy" => said("bay-sample-seen-cloudy"),
            "water" => said("bay-sample-seen-water"),
            "dirty" => "dirty",
            _ => said("bay-sample-seen-wrong"),
        };
        Ok(tell!(
            "bay-sample-result",
            level = format!("{level:.0}"),
            litres = format!("{litres:.0}"),
            of = format!("{of:.0}"),
            seen = seen
        ))
    }

    pub(super) fn listen(&mut self, part: &str) -> Result<String, String> {
        let k = self.drive.pump_index(part).ok_or(said("bay-listen-no-pump"))?;
        let before = self.drive.key();
        let turns = self.drive.engine_turns(0);
        if !turns {
            self.hands(Op::Key { to: Key::Off })?;
            self.spend(5 * SECOND);
            self.turn_key_on()?;
            self.spend(SECOND * 6 / 10);
        }
        self.hands(Op::Listen { pump: k })?;
        let sound = self.drive.pump_sound(0, k);
        let fed = self.drive.pump_is_fed(0, k);
        let clicked = self.drive.clicked(0);
        self.spend(3 * MINUTE);
        if !turns && before == Key::Off {
            self.hands(Op::Key { to: Key::Off })?;
        }
        let relay = match (turns, clicked) {
            (true, _) => "",
            (false, true) => said("bay-listen-relay-clicks"),
            (false, false) => said("bay-listen-no-relay"),
        };
        let label = self.label_of(part);
        Ok(match sound.word() {
            "silent" if fed => {
                tell!("bay-listen-fed-and-silent", label = label, relay = relay)
            }
            "silent" => tell!("bay-listen-silent", label = label, relay = relay),
            "stuck" => tell!("bay-listen-stuck", label = label, relay = relay),
            word => tell!("bay-listen-sound", label = label, word = word, relay = relay),
        })
    }

    pub(super) fn read_codes(&mut self) -> Result<String, String> {
        let before = self.drive.key();
        if before == Key::Off {
            self.turn_key_on()?;
        }
        self.spend(5 * MINUTE);
        let stored = |(number, rpm): &(String, f64)| {
            let code = crate::instrument::codes::find(number)?;
            Some(ReadCode { number: code.number, about: code.about.said(), rpm: *rpm })
        };
        self.codes = self.job.codes.iter().filter_map(stored).collect();
        let brought = self.codes.len();
        for c in self.drive.codes(0) {
            if !self.codes[..brought].iter().any(|known| known.number == c.number) {
                self.codes.push(ReadCode { number: c.number, about: c.words, rpm: c.rpm });
            }
        }
        let mut says = if self.codes.is_empty() {
            said("bay-codes-none").to_owned()
        } else {
            let list = self.codes.iter().enumerate().map(|(i, c)| {
                let when = if i < brought { said("bay-codes-before") } else { "" };
                tell!(
                    "bay-codes-entry",
                    number = c.number,
                    about = c.about,
                    rpm = format!("{:.0}", c.rpm),
                    when = when
                )
            });
            tell!("bay-codes-stored", list = list.collect::<Vec<_>>().join("; "))
        };
        if self.drive.read(0, &Probe::OwnSensor).is_some() {
            let shown = self.read(Probe::OwnSensor, said("bay-meter-own-sensor"))?;
            let effort = self.read(Probe::Effort, said("bay-meter-effort"))?;
            let asked = (0..).map_while(|k| (k < self.drive.pumps()).then(|| self.drive.asked_pressure(0, k)));
            let asked = asked.fold(0.0, f64::max) / 100.0;
            says += &tell!(
                "bay-codes-live",
                shown = aloud(Quantity::Pressure, shown),
                asked = aloud(Quantity::Pressure, asked),
                effort = number_on_paper(effort)
            );
        }
        if before == Key::Off {
            self.hands(Op::Key { to: Key::Off })?;
        }
        Ok(says + said("bay-codes-what-they-name"))
    }

    pub(super) fn battery_test(&mut self) -> Result<String, String> {
        self.engine_must_stand()?;
        let before = self.drive.key();
        let rest = self.read(Probe::Battery, said("bay-meter-battery-rest"))?;
        self.before_cranking(3.0);
        self.hands(Op::HoldBack { on: true })?;
        if before == Key::Off {
            self.turn_key_on()?;
        }
        self.hands(Op::Crank { secs: 3.0 })?;
        self.mark("crank");
        self.spend(5 * SECOND / 2);
        let sagged = self.read(Probe::Battery, said("bay-meter-battery-starter"))?;
        let speed = self.read(Probe::Revs, said("bay-meter-speed-starter"))?;
        self.spend(3 * SECOND);
        self.hands(Op::Stand)?;
        self.hands(Op::HoldBack { on: false })?;
        if before == Key::Off {
            self.hands(Op::Key { to: Key::Off })?;
        }
        self.spend(4 * MINUTE);
        Ok(tell!(
            "bay-battery-result",
            rest = aloud(Quantity::Voltage, rest),
            sagged = aloud(Quantity::Voltage, sagged),
            speed = aloud(Quantity::Speed, speed)
        ))
    }

    // ---- shut and open --------------------------------------------------------------------------

    pub(super) fn pinch(&mut self, name: &str, on: bool) -> Result<String, String> {
        let Some(part) = self.job.plant.part(name) else {
            return Err(tell!("bay-pinch-unknown", name = name));
        };
        let label = part.label.clone();
        let Component::Line(line) = &part.is else {
            return Err(tell!("bay-pinch-no-hose", label = label));
        };
        if line.squeezed_at.is_none() {
            return Err(tell!("bay-pinch-not-soft", label = label));
        }
        if self.drive.is_pinched(name) == on {
            return Err(tell!(
                "bay-pinch-already",
                label = label,
                state = if on { said("bay-pinch-pinched") } else { "open" }
            ));
        }
        self.engine_must_stand()?;
        self.spend(3 * MINUTE);
        self.hands(Op::Pinch { part: name.to_owned(), on })?;
        self.mark(if on { "pinched" } else { "open again" });
        Ok(if on { tell!("bay-pinch-closed", label = label) } else { tell!("bay-pinch-opened", label = label) })
    }

    pub(super) fn blank(&mut self, joint: Option<&str>) -> Result<String, String> {
        self.engine_must_stand()?;
        if self.drive.blanked() == joint {
            return Err(if joint.is_some() { said("bay-plug-already") } else { said("bay-plug-none") }.into());
        }
        if let Some(joint) = joint {
            self.known_joint(joint)?;
            if plugged_part(&self.job.plant, joint).is_none() {
                return Err(tell!("bay-plug-does-not-hold", joint = self.joint_label(joint)));
            }
        }
        let at = joint.or(self.drive.blanked()).unwrap_or_default().to_owned();
        self.begin_at_joint(&at)?;
        self.spend(10 * MINUTE);
        self.credits += SEALS_CREDITS;
        self.hands(Op::Blank { joint: joint.map(str::to_owned) })?;
        self.mark(if joint.is_some() { "plugged" } else { "plug out" });
        let label = self.joint_label(&at);
        Ok(match joint {
            Some(_) => tell!("bay-plug-in", label = label),
            None => tell!("bay-plug-out", label = label),
        })
    }

    pub(super) fn second_gauge(&mut self, joint: Option<&str>) -> Result<String, String> {
        self.engine_must_stand()?;
        if self.drive.second() == joint {
            return Err(if joint.is_some() { said("bay-second-already") } else { said("bay-second-none") }.into());
        }
        if let Some(joint) = joint {
            self.known_joint(joint)?;
            if self.drive.tee() == Some(joint) {
                return Err(said("bay-second-tee-there").into());
            }
        }
        let at = joint.or(self.drive.second()).unwrap_or_default().to_owned();
        self.begin_at_joint(&at)?;
        self.spend(if joint.is_some() { 12 * MINUTE } else { 6 * MINUTE });
        self.credits += SEALS_CREDITS;
        self.hands(Op::SecondGauge { joint: joint.map(str::to_owned) })?;
        self.mark(if joint.is_some() { "second gauge" } else { "second off" });
        let label = self.joint_label(&at);
        Ok(match joint {
            Some(_) => tell!("bay-second-fitted", label = label),
            None => tell!("bay-second-off", label = label),
        })
    }

    pub(super) fn bridge(&mut self, part: &str, on: bool) -> Result<String, String> {
        let k = self.drive.pump_index(part).ok_or(said("bay-bridge-no-pump"))?;
        if on == self.drive.is_bridged(0, k) {
            return Err(tell!("bay-bridge-already", state = if on { "on" } else { "off" }));
        }
        self.spend(2 * MINUTE);
        self.hands(Op::Bridge { part: part.to_owned(), on })?;
        self.safety.remove(&super::action::SafetyStep::PressureAway);
        self.mark(if on { "bridged" } else { "bridge off" });
        let label = self.label_of(part);
        Ok(if on { tell!("bay-bridge-on", label = label) } else { tell!("bay-bridge-off", label = label) })
    }

    // ---- volumes --------------------------------------------------------------------------------

    /// The electric pump that feeds a joint, by name: the first that the key switches.
    fn key_pump(&self) -> Option<String> {
        let by_key = |command: &Command| !matches!(command, Command::Float { .. });
        self.job.plant.electric_pumps().find(|(_, p)| by_key(&p.command)).map(|(part, _)| part.name.clone())
    }

    pub(super) fn deliver(&mut self, joint: &str, secs: f64, throttled: bool) -> Result<String, String> {
        self.known_joint(joint)?;
        if !(5.0..=120.0).contains(&secs) {
            return Err(said("bay-deliver-span").into());
        }
        self.engine_must_stand()?;
        if !self.drive.can_open(joint) {
            return Err(said("bay-deliver-no-way-out").into());
        }
        let pushed = self.job.plant.is_under_pressure(joint);
        if !pushed && self.drive.gauge_at(0, joint).is_none_or(|pa| pa < RUNS_OUT_PA) {
            return Err(said("bay-deliver-only-air").into());
        }
        let pump = self.key_pump().filter(|_| pushed);
        if pushed && pump.is_none() && secs > CRANKED_S {
            return Err(said("bay-deliver-by-starter").into());
        }
        self.begin_at_joint(joint)?;
        self.spend(5 * MINUTE);
        self.hands(Op::Jar { joint: Some(joint.to_owned()), throttled })?;
        self.mark("into the jar");
        let span = (secs * SECOND as f64) as Micros;
        match &pump {
            Some(part) => {
                self.hands(Op::Bridge { part: part.clone(), on: true })?;
                self.spend(span);
                self.hands(Op::Bridge { part: part.clone(), on: false })?;
                // the line is under pressure again
                self.safety.remove(&super::action::SafetyStep::PressureAway);
            }
            None if pushed => {
                self.before_cranking(secs);
                self.hands(Op::HoldBack { on: true })?;
                self.turn_key_on()?;
                self.hands(Op::Crank { secs })?;
                self.spend(span);
                self.hands(Op::Key { to: Key::Off })?;
                self.hands(Op::HoldBack { on: false })?;
            }
            None => self.spend(span),
        }
        let volume = self.read(Probe::Jar, "measuring jar")?;
        self.hands(Op::Jar { joint: None, throttled })?;
        self.spend(4 * MINUTE);
        self.credits += SEALS_CREDITS;
        self.mark("joined again");
        let how = if throttled { said("bay-deliver-throttled") } else { said("bay-deliver-freely") };
        let over = self.over_range();
        Ok(tell!(
            "bay-deliver-result",
            volume = aloud(Quantity::Volume, volume),
            secs = format!("{secs:.0}"),
            how = how,
            over = over,
            joint = self.joint_label(joint)
        ))
    }

    pub(super) fn return_flow(&mut self, secs: f64) -> Result<String, String> {
        if !(5.0..=120.0).contains(&secs) {
            return Err(said("bay-return-span").into());
        }
        if !self.control().running {
            return Err(said("bay-return-engine-must-run").into());
        }
        let engine = self.job.plant.engine();
        if engine.is_none_or(|e| e.overflow.is_none() && e.back_leak.si() == 0.0) {
            return Err(said("bay-return-none").into());
        }
        self.hands(Op::ReturnJar { on: true })?;
        self.spend((secs * SECOND as f64) as Micros);
        let volume = self.read(Probe::Jar, said("bay-meter-return"))?;
        self.hands(Op::ReturnJar { on: false })?;
        self.spend(5 * MINUTE);
        Ok(tell!(
            "bay-return-result",
            volume = aloud(Quantity::Volume, volume),
            secs = format!("{secs:.0}"),
            over = self.over_range()
        ))
    }

    // ---- decay ----------------------------------------------------------------------------------

    fn closed_section(&self) -> Result<(), String> {
        if self.job.plant.is_petrol() {
            return Err(said("bay-decay-not-on-petrol").into());
        }
        let Some(joint) = self.drive.tee() else {
            return Err(said("bay-decay-tee-first").into());
        };
        if self.job.plant.is_under_pressure(joint) {
            return Err(said("bay-decay-pressure-side").into());
        }
        self.engine_must_stand()?;
        if self.drive.valve(0).is_none_or(|open| open > 0.05) {
            return Err(said("bay-decay-shut-valve").into());
        }
        Ok(())
    }

    fn pump_at_tee(&mut self, mbar: f64) -> Result<(), String> {
        for _ in 0..STROKES {
            self.hands(Op::HandPump { mbar })?;
            self.spend(SECOND);
        }
        Ok(())
    }

    fn shown_now(&self) -> f64 {
        self.observe().gauge.map_or(f64::NAN, |g| g.mbar)
    }

    pub(super) fn vacuum_test(&mut self) -> Result<String, String> {
        self.closed_section()?;
        self.spend(4 * MINUTE);
        self.pump_at_tee(DRAWN_MBAR)?;
        self.mark("drawn down");
        let first = self.shown_now();
        self.spend(WATCHED);
        let last = self.shown_now();
        self.mark("five minutes");
        self.spend(MINUTE);
        Ok(tell!(
            "bay-decay-result",
            first = aloud(Quantity::Pressure, first),
            last = aloud(Quantity::Pressure, last)
        ))
    }

    pub(super) fn air_test(&mut self) -> Result<String, String> {
        if !self.job.plant.service.air_decay {
            return Err(said("bay-air-not-switched-on").into());
        }
        self.closed_section()?;
        self.require_protection();
        self.spend(10 * MINUTE);
        self.pump_at_tee(BLOWN_MBAR)?;
        self.mark("air on");
        self.spend(2 * MINUTE);
        let mut places: Vec<String> =
            self.drive.oozing(0).into_iter().filter(|(_, flow)| *flow > 0.0).map(|(node, _)| node).collect();
        places.dedup();
        let last = self.shown_now();
        self.hands(Op::HandPump { mbar: 0.0 })?;
        self.spend(10 * MINUTE);
        let labels: Vec<String> =
            places.iter().map(|node| tell!("bay-place-the", label = self.joint_label(node))).collect();
        Ok(if labels.is_empty() {
            tell!("bay-air-no-bubble", last = aloud(Quantity::Pressure, last))
        } else {
            tell!("bay-air-bubbles", places = labels.join(said("bay-place-and")))
        })
    }

    // ---- warm, shake, tilt ----------------------------------------------------------------------

    pub(super) fn treat(&mut self, place: &str, warm: bool) -> Result<String, String> {
        if self.job.plant.part(place).is_none() && self.job.plant.node(place).is_none() {
            return Err(tell!("bay-place-unknown", place = place));
        }
        self.spend(3 * MINUTE);
        self.hands(Op::Treat { place: place.to_owned(), kelvin: if warm { WARMER_K } else { COOLER_K } })?;
        self.spend(5 * MINUTE);
        self.mark(if warm { "warmed" } else { "cooled" });
        let label = self.label_of(place);
        Ok(if warm { tell!("bay-treat-warmed", label = label) } else { tell!("bay-treat-cooled", label = label) })
    }

    pub(super) fn wiggle(&mut self, place: &str) -> Result<String, String> {
        if self.job.plant.part(place).is_none() && self.job.plant.node(place).is_none() {
            return Err(tell!("bay-place-unknown", place = place));
        }
        self.spend(2 * MINUTE);
        let before = (self.drive.engine_run(0), self.pump_words());
        self.hands(Op::Wiggle { place: place.to_owned(), on: true })?;
        self.mark("wiggled");
        let mut changed = false;
        for _ in 0..10 {
            self.spend(SECOND);
            changed |= before != (self.drive.engine_run(0), self.pump_words());
        }
        let run = self.drive.engine_run(0);
        self.hands(Op::Wiggle { place: place.to_owned(), on: false })?;
        self.spend(MINUTE);
        let label = self.label_of(place);
        Ok(match (changed, run) {
            (true, EngineRun::Stalled) => tell!("bay-wiggle-dies", label = label),
            (true, _) => tell!("bay-wiggle-changes", label = label),
            (false, EngineRun::Off) if before.1.is_none() => {
                tell!("bay-wiggle-nothing-runs", label = label)
            }
            (false, _) => tell!("bay-wiggle-nothing", label = label),
        })
    }

    fn pump_words(&self) -> Option<&'static str> {
        self.perceived(super::action::Perceived::Pump).ok()
    }

    pub(super) fn tilt(&mut self, degrees: f64) -> Result<String, String> {
        if !(-STEEPEST..=STEEPEST).contains(&degrees) {
            return Err(tell!("bay-tilt-span", STEEPEST = format!("{STEEPEST:.0}")));
        }
        if !self.safety.contains(&super::action::SafetyStep::Chocks) {
            self.breach("no-chocks");
        }
        self.spend(5 * MINUTE);
        self.hands(Op::Tilt { degrees })?;
        self.mark(if degrees == 0.0 { "level" } else { "on a slope" });
        let d = format!("{:.0}", degrees.abs());
        let afloat = self.job.plant.is_boat();
        Ok(match (degrees, afloat) {
            (0.0, false) => said("bay-tilt-level").into(),
            (0.0, true) => said("bay-tilt-boat-level").into(),
            (up, false) if up > 0.0 => tell!("bay-tilt-nose-up", d = d),
            (up, true) if up > 0.0 => tell!("bay-tilt-bow-up", d = d),
            (_, false) => tell!("bay-tilt-nose-down", d = d),
            (_, true) => tell!("bay-tilt-bow-down", d = d),
        })
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
