//! Tests that split the supply: what each needs, costs and may break, and what it shows.
//!
//! Numbers are what the instruments show (`drive/probe.rs`), errors and all. Minutes are those of a competent technician on an accessible vehicle (training values). Every number that is read is
//! kept with its test, so that what is written down later can be held against it.

use super::action::{Key, MINUTE, Micros, Probe, Quantity, SECOND};
use super::drive::kit::plugged_part;
use super::drive::op::Op;
use super::observation::{EngineRun, Meter, ReadCode};
use super::sheet::number_on_paper;
use super::work::SEALS_CREDITS;
use super::{Bay, Measured};
use crate::instrument::display::Doubt;
use crate::plant::component::{Command, Component};

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
fn said(quantity: Quantity, value: f64) -> String {
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
    format!("{digits} {unit}")
}

impl Bay {
    /// Reads something, keeps it, and gives the number.
    fn read(&mut self, probe: Probe, what: &str) -> Result<f64, String> {
        if self.drive.read(0, &probe).is_none() {
            return Err(match probe {
                Probe::Volts { .. } => format!("Leads can be held at: {}.", self.drive.points(0).join(", ")),
                Probe::Clamp { .. } => "There is no electric pump of that name to put the clamp round.".into(),
                Probe::Second => "No second transducer is fitted.".into(),
                Probe::Thermometer { .. } => "There is no such part or joint to hold a thermometer to.".into(),
                Probe::OwnSensor | Probe::Effort => {
                    "This vehicle has no sensor in its low-pressure supply: nothing is reported.".into()
                }
                Probe::RecordUneven => {
                    "No humps can be told apart in a record: make one with the pump running.".into()
                }
                Probe::RecordMean | Probe::RecordPeak | Probe::RecordSwing => "Nothing was recorded yet.".into(),
                _ => "There is nothing to read there.".into(),
            });
        }
        self.hands(Op::Probe { probe: probe.clone() })?;
        let index = self.drive.numbers(0).len() - 1;
        let Some(Measured { shown, doubt }) = self.drive.numbers(0)[index] else {
            return Err("There is nothing to read there.".into());
        };
        let (quantity, over_range) = (probe.quantity(), shown.over_range);
        let meter = Meter { at: self.now(), what: what.to_owned(), quantity, value: shown.value, over_range };
        self.shown.push(Shown { meter, probe, index, doubt });
        Ok(shown.value)
    }

    /// A warning when what was read last lies at the end of its instrument's range.
    fn over_range(&self) -> &'static str {
        match self.shown.last() {
            Some(s) if s.meter.over_range && s.probe == Probe::Jar => " The jar ran over: that is no measurement.",
            Some(s) if s.meter.over_range => " Over range: the true value lies beyond what is shown.",
            _ => "",
        }
    }

    pub(super) fn measure(&mut self, probe: &Probe) -> Result<String, String> {
        let (minutes, what) = match probe {
            Probe::Volts { from, to } => (2, format!("{from} against {to}")),
            Probe::Clamp { part } => (1, format!("current of the {}", self.label_of(part))),
            Probe::Second => (0, "second transducer".to_owned()),
            Probe::Thermometer { place } => (2, format!("temperature at the {}", self.label_of(place))),
            Probe::Jar => (0, "jar".to_owned()),
            Probe::Dip => (3, "dip stick".to_owned()),
            Probe::OwnSensor => (1, "the vehicle's own sensor".to_owned()),
            Probe::Effort => (1, "effort of the vehicle's control".to_owned()),
            Probe::Battery => (1, "battery".to_owned()),
            Probe::Revs => (0, "rev counter".to_owned()),
            Probe::RecordMean => (0, "mean of the record".to_owned()),
            Probe::RecordPeak => (0, "peak of the record".to_owned()),
            Probe::RecordSwing => (0, "swing of the record's ripple".to_owned()),
            Probe::RecordUneven => (0, "unevenness of the record's humps".to_owned()),
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
        let aside = if live { "" } else { " No pump is running: a bad joint shows only with current." };
        let zero = if matches!(probe, Probe::Clamp { .. }) { self.zero_aside() } else { "" };
        let over = self.over_range();
        Ok(format!("{}: {}.{aside}{zero}{over}", capital(&what), said(probe.quantity(), value)))
    }

    fn zero_aside(&self) -> &'static str {
        if self.drive.clamp_is_zeroed() { "" } else { " The clamp was never set to zero." }
    }

    pub(super) fn zero_clamp(&mut self, large: bool) -> Result<String, String> {
        self.spend(MINUTE);
        self.hands(Op::ZeroClamp { large })?;
        let range = if large { "200 A" } else { "20 A" };
        Ok(format!(
            "Clamp in its {range} range, jaws empty and shut, display set to zero. Its zero creeps: set it anew."
        ))
    }

    /// A fast record of a pump's current: as it runs, or from the turn of the key.
    pub(super) fn capture(&mut self, part: &str, start: bool) -> Result<String, String> {
        let k =
            self.drive.pump_index(part).ok_or("There is no electric pump of that name to put the clamp round.")?;
        let before = self.drive.key();
        if start && self.drive.pump_is_fed(0, k) {
            return Err("The pump is fed already: switch it off first.".into());
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
        let swing = self.read(Probe::RecordSwing, "swing of the record's ripple")?;
        let uneven = self.drive.read(0, &Probe::RecordUneven).map(|m| m.shown.value);
        if uneven.is_some() {
            self.read(Probe::RecordUneven, "unevenness of the record's humps")?;
        }
        let peak = self.read(Probe::RecordPeak, "peak of the record")?;
        let mean = self.read(Probe::RecordMean, &format!("mean current of the {label}"))?;
        let [mean, peak, swing] = [mean, peak, swing].map(|amps| said(Quantity::Current, amps));
        let humps = uneven.map_or_else(
            || "no humps can be told apart".to_owned(),
            |share| format!("its humps differ by {share:.1} in 100 of the mean"),
        );
        let speed = self.drive.speed_by_ripple(0);
        let speed =
            speed.map_or_else(String::new, |rpm| format!(" By the ripple's count it turns at {rpm:.0} 1/min."));
        let zero = self.zero_aside();
        let over = self.over_range();
        Ok(format!(
            "{}: mean {mean}, peak {peak}; its ripple swings by {swing}, {humps}.{speed}{zero}{over}",
            capital(&label)
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
        let tank = self.job.plant.tank().ok_or("There is no tank to dip.")?;
        let litres = level * tank.area.si();
        let of = tank.capacity.si() * 1e3;
        let look = self.perceived(super::action::Perceived::Sample)?;
        let seen = match look {
            "clear" => "bright, with the colour and smell that belong in this tank",
            "hazy" => "cloudy",
            "water" => "with water beneath",
            "dirty" => "dirty",
            _ => "with a colour and smell that don't belong in this tank",
        };
        Ok(format!("The stick is wet for {level:.0} mm: about {litres:.0} of {of:.0} l. The sample stands {seen}."))
    }

    pub(super) fn listen(&mut self, part: &str) -> Result<String, String> {
        let k = self.drive.pump_index(part).ok_or("There is no electric pump of that name to listen to.")?;
        let before = self.drive.key();
        let turns = self.drive.engine_turns(0);
        if !turns {
            self.hands(Op::Key { to: Key::Off })?;
            self.spend(5 * SECOND);
            self.turn_key_on()?;
            self.spend(SECOND * 6 / 10);
        }
        let sound = self.drive.pump_sound(0, k);
        let fed = self.drive.pump_is_fed(0, k);
        let clicked = self.drive.clicked(0);
        self.spend(3 * MINUTE);
        if !turns && before == Key::Off {
            self.hands(Op::Key { to: Key::Off })?;
        }
        let relay = match (turns, clicked) {
            (true, _) => "",
            (false, true) => " The relay clicks as the key is turned.",
            (false, false) => " No relay clicks as the key is turned.",
        };
        let label = self.label_of(part);
        Ok(match sound.word() {
            "silent" if fed => {
                format!("The relay is closed, the fuse is whole, and the {label} makes no sound.{relay}")
            }
            "silent" => format!("Not a sound from the {label}.{relay}"),
            "stuck" => format!("The {label} gets warm and doesn't turn.{relay}"),
            word => format!("From the {label}: {word}.{relay}"),
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
            Some(ReadCode { number: code.number, about: code.about, rpm: *rpm })
        };
        self.codes = self.job.codes.iter().filter_map(stored).collect();
        let brought = self.codes.len();
        for c in self.drive.codes(0) {
            if !self.codes[..brought].iter().any(|known| known.number == c.number) {
                self.codes.push(ReadCode { number: c.number, about: c.words, rpm: c.rpm });
            }
        }
        let mut says = if self.codes.is_empty() {
            "No trouble code is stored.".to_owned()
        } else {
            let list = self.codes.iter().enumerate().map(|(i, c)| {
                let when = if i < brought { ", before it came in" } else { "" };
                format!("{} ({}) stored at {:.0} 1/min{when}", c.number, c.about, c.rpm)
            });
            format!("Stored: {}.", list.collect::<Vec<_>>().join("; "))
        };
        if self.drive.read(0, &Probe::OwnSensor).is_some() {
            let shown = self.read(Probe::OwnSensor, "the vehicle's own sensor")?;
            let effort = self.read(Probe::Effort, "effort of the vehicle's control")?;
            let asked = (0..).map_while(|k| (k < self.drive.pumps()).then(|| self.drive.asked_pressure(0, k)));
            let asked = asked.fold(0.0, f64::max) / 100.0;
            says += &format!(
                " Its own sensor reports {}, {} is asked for, and the control works at {} in 100.",
                said(Quantity::Pressure, shown),
                said(Quantity::Pressure, asked),
                number_on_paper(effort)
            );
        }
        if before == Key::Off {
            self.hands(Op::Key { to: Key::Off })?;
        }
        Ok(says + " A code names a circuit or a value, not a part.")
    }

    pub(super) fn battery_test(&mut self) -> Result<String, String> {
        self.engine_must_stand()?;
        let before = self.drive.key();
        let rest = self.read(Probe::Battery, "battery at rest")?;
        self.before_cranking(3.0);
        self.hands(Op::HoldBack { on: true })?;
        if before == Key::Off {
            self.turn_key_on()?;
        }
        self.hands(Op::Crank { secs: 3.0 })?;
        self.mark("crank");
        self.spend(5 * SECOND / 2);
        let sagged = self.read(Probe::Battery, "battery under the starter")?;
        let speed = self.read(Probe::Revs, "speed on the starter")?;
        self.spend(3 * SECOND);
        self.hands(Op::Stand)?;
        self.hands(Op::HoldBack { on: false })?;
        if before == Key::Off {
            self.hands(Op::Key { to: Key::Off })?;
        }
        self.spend(4 * MINUTE);
        Ok(format!(
            "Battery {} at rest, {} under the starter; it turns the engine at {}.",
            said(Quantity::Voltage, rest),
            said(Quantity::Voltage, sagged),
            said(Quantity::Speed, speed)
        ))
    }

    // ---- shut and open --------------------------------------------------------------------------

    pub(super) fn pinch(&mut self, name: &str, on: bool) -> Result<String, String> {
        let Some(part) = self.job.plant.part(name) else {
            return Err(format!("There is no \"{name}\" here to pinch."));
        };
        let label = part.label.clone();
        let Component::Line(line) = &part.is else {
            return Err(format!("The {label} isn't a hose. Plug the way at a joint instead."));
        };
        if line.squeezed_at.is_none() {
            return Err(format!(
                "The {label} isn't soft: jaws would crack plastic and crease metal. Plug it at a joint or use a valve."
            ));
        }
        if self.drive.is_pinched(name) == on {
            return Err(format!("The {label} is {} already.", if on { "pinched" } else { "open" }));
        }
        self.engine_must_stand()?;
        self.spend(3 * MINUTE);
        self.hands(Op::Pinch { part: name.to_owned(), on })?;
        self.mark(if on { "pinched" } else { "open again" });
        Ok(if on { format!("Smooth jaws close the {label}.") } else { format!("The {label} is open again.") })
    }

    pub(super) fn blank(&mut self, joint: Option<&str>) -> Result<String, String> {
        self.engine_must_stand()?;
        if self.drive.blanked() == joint {
            return Err(if joint.is_some() { "It is plugged already." } else { "Nothing is plugged." }.into());
        }
        if let Some(joint) = joint {
            self.known_joint(joint)?;
            if plugged_part(&self.job.plant, joint).is_none() {
                return Err(format!("A plug doesn't hold at the {}.", self.joint_label(joint)));
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
            Some(_) => format!("The way on from the {label} is plugged. Don't forget the plug."),
            None => format!("The plug is out and the {label} is joined again."),
        })
    }

    pub(super) fn second_gauge(&mut self, joint: Option<&str>) -> Result<String, String> {
        self.engine_must_stand()?;
        if self.drive.second() == joint {
            return Err(if joint.is_some() { "It sits there already." } else { "None is fitted." }.into());
        }
        if let Some(joint) = joint {
            self.known_joint(joint)?;
            if self.drive.tee() == Some(joint) {
                return Err("The tee with its transducer sits there.".into());
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
            Some(_) => format!("A second transducer sits at the {label}, zeroed before it was fitted."),
            None => format!("The second transducer is off and the {label} is joined again."),
        })
    }

    pub(super) fn bridge(&mut self, part: &str, on: bool) -> Result<String, String> {
        let k = self.drive.pump_index(part).ok_or("There is no electric pump of that name to feed.")?;
        if on == self.drive.is_bridged(0, k) {
            return Err(format!("The test lead is {} already.", if on { "on" } else { "off" }));
        }
        self.spend(2 * MINUTE);
        self.hands(Op::Bridge { part: part.to_owned(), on })?;
        self.safety.remove(&super::action::SafetyStep::PressureAway);
        self.mark(if on { "bridged" } else { "bridge off" });
        let label = self.label_of(part);
        Ok(if on {
            format!("A fused test lead feeds the {label} past its relay.")
        } else {
            format!("The test lead is off the {label}.")
        })
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
            return Err("A delivery is measured over 5 to 120 seconds.".into());
        }
        self.engine_must_stand()?;
        if !self.drive.can_open(joint) {
            return Err("A hose can't be led out of that joint.".into());
        }
        let pushed = self.job.plant.is_under_pressure(joint);
        if !pushed && self.drive.gauge_at(0, joint).is_none_or(|pa| pa < RUNS_OUT_PA) {
            return Err("Nothing pushes fuel to this joint: an open end would only draw air.".into());
        }
        let pump = self.key_pump().filter(|_| pushed);
        if pushed && pump.is_none() && secs > CRANKED_S {
            return Err("The starter must do it here: fifteen seconds at most.".into());
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
        let how = if throttled { "through the throttle" } else { "freely" };
        let over = self.over_range();
        Ok(format!(
            "{} in the jar after {secs:.0} s {how}.{over} The {} is joined again.",
            said(Quantity::Volume, volume),
            self.joint_label(joint)
        ))
    }

    pub(super) fn return_flow(&mut self, secs: f64) -> Result<String, String> {
        if !(5.0..=120.0).contains(&secs) {
            return Err("The return is measured over 5 to 120 seconds.".into());
        }
        if !self.control().running {
            return Err("The engine must run for this. Start it first.".into());
        }
        let engine = self.job.plant.engine();
        if engine.is_none_or(|e| e.overflow.is_none() && e.back_leak.si() == 0.0) {
            return Err("Nothing comes back from this engine.".into());
        }
        self.hands(Op::ReturnJar { on: true })?;
        self.spend((secs * SECOND as f64) as Micros);
        let volume = self.read(Probe::Jar, "return, in the jar")?;
        self.hands(Op::ReturnJar { on: false })?;
        self.spend(5 * MINUTE);
        Ok(format!("{} came back in {secs:.0} s.{}", said(Quantity::Volume, volume), self.over_range()))
    }

    // ---- decay ----------------------------------------------------------------------------------

    fn closed_section(&self) -> Result<(), String> {
        if self.job.plant.is_petrol() {
            return Err("Not on petrol: it would boil under vacuum, and air with petrol vapour burns.".into());
        }
        let Some(joint) = self.drive.tee() else {
            return Err("Fit the tee first: the section is closed by its valve.".into());
        };
        if self.job.plant.is_under_pressure(joint) {
            return Err("The tee sits on the pressure side. This test is for the suction side.".into());
        }
        self.engine_must_stand()?;
        if self.drive.valve(0).is_none_or(|open| open > 0.05) {
            return Err("Shut the tee's valve first, or the pump only empties the tank's line.".into());
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
        Ok(format!(
            "Drawn down to {}; {} after five minutes. A soft hose gives way a little at first: that isn't a leak.",
            said(Quantity::Pressure, first),
            said(Quantity::Pressure, last)
        ))
    }

    pub(super) fn air_test(&mut self) -> Result<String, String> {
        if !self.job.plant.service.air_decay {
            return Err(
                "This centre hasn't switched on the test with compressed air. Draw the section down instead."
                    .into(),
            );
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
        let labels: Vec<String> = places.iter().map(|node| format!("the {}", self.joint_label(node))).collect();
        Ok(if labels.is_empty() {
            format!(
                "Soapy water shows no bubble anywhere; {} are left after two minutes.",
                said(Quantity::Pressure, last)
            )
        } else {
            format!("Soapy water bubbles at {}.", labels.join(" and "))
        })
    }

    // ---- warm, shake, tilt ----------------------------------------------------------------------

    pub(super) fn treat(&mut self, place: &str, warm: bool) -> Result<String, String> {
        if self.job.plant.part(place).is_none() && self.job.plant.node(place).is_none() {
            return Err(format!("There is no \"{place}\" here."));
        }
        self.spend(3 * MINUTE);
        self.hands(Op::Treat { place: place.to_owned(), kelvin: if warm { WARMER_K } else { COOLER_K } })?;
        self.spend(5 * MINUTE);
        self.mark(if warm { "warmed" } else { "cooled" });
        let label = self.label_of(place);
        Ok(if warm {
            format!("Five minutes of warm air at the {label}; no flame near fuel.")
        } else {
            format!("Five minutes of a wet cloth round the {label}.")
        })
    }

    pub(super) fn wiggle(&mut self, place: &str) -> Result<String, String> {
        if self.job.plant.part(place).is_none() && self.job.plant.node(place).is_none() {
            return Err(format!("There is no \"{place}\" here."));
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
            (true, EngineRun::Stalled) => format!("The engine dies while you move the {label}."),
            (true, _) => format!("Something changes while you move the {label}."),
            (false, EngineRun::Off) if before.1.is_none() => {
                format!("You move and tap the {label}; nothing runs that could show it.")
            }
            (false, _) => format!("You move and tap the {label}; nothing changes."),
        })
    }

    fn pump_words(&self) -> Option<&'static str> {
        self.perceived(super::action::Perceived::Pump).ok()
    }

    pub(super) fn tilt(&mut self, degrees: f64) -> Result<String, String> {
        if !(-STEEPEST..=STEEPEST).contains(&degrees) {
            return Err(format!("The ramps in the yard go to {STEEPEST:.0} degrees, nose up or (negative) down."));
        }
        if !self.safety.contains(&super::action::SafetyStep::Chocks) {
            self.breach("no-chocks");
        }
        self.spend(5 * MINUTE);
        self.hands(Op::Tilt { degrees })?;
        self.mark(if degrees == 0.0 { "level" } else { "on a slope" });
        Ok(match degrees {
            d if d > 0.0 => format!("The vehicle stands {d:.0} degrees nose up."),
            d if d < 0.0 => format!("The vehicle stands {:.0} degrees nose down.", -d),
            _ => "The vehicle stands level.".into(),
        })
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
