//! What a person in the bay perceives now.

use super::Bay;
use super::action::{Key, Perceived, Probe, SECOND};
use super::drive::kit::DRIPS;
use super::observation::{
    CapSound, EngineRun, Gauge, Glass, GlassLook, Observation, PrimerFeel, PumpSound, SampleLook, Tee, Wet,
};
use crate::instrument::sight::Sight;
use crate::instrument::sounds::{Sound, heard};
use crate::language::said;
use crate::plant::assemble::TEE;

/// Liquid from which a leak runs, mL/s.
const RUNS: f64 = 1.0;
/// Results of tests that lie on the bench.
const MOST_METERS: usize = 12;

/// Bore of the sight glass, mm²: a tube of 12 mm.
const GLASS_AREA_MM2: f64 = 113.0;

impl Bay {
    /// What can be perceived now.
    pub fn observe(&self) -> Observation {
        let drive = &self.drive;
        let sight = self.glass().and_then(|g| drive.sight(0, g.speed_m_s));
        let sources = drive.sources(0);
        let heard = heard(&sources);
        let pump = heard.iter().any(|h| matches!(h.sound, Sound::PumpHum | Sound::PumpWhine));
        Observation {
            at: self.now(),
            key: drive.key(),
            engine: drive.engine_run(0),
            rpm: (drive.rpm(0) / 10.0).round() * 10.0,
            gauge: self.gauge_display(),
            glass: self.glass(),
            tee: drive.tee().map(|joint| Tee {
                joint: joint.to_owned(),
                valve_open: drive.valve(0).unwrap_or(1.0),
                purged_at: self.purged_at,
            }),
            container: drive.container().map(str::to_owned),
            cap_open: drive.cap_open(),
            cap: drive.cap(0),
            primer: drive.primer(0),
            fuel_gauge: self.job.fuel_gauge,
            charged_min: self.charged_minutes(),
            credits: self.credits,
            cautions: self.cautions(),
            sounds: heard.iter().map(|h| h.sound.caption()).collect(),
            pump_pitch: sources.pump.filter(|_| pump).map_or(0.0, |p| p.speed),
            heard,
            wet: self.wet_places(),
            sight,
            glass_words: sight.map(Sight::sentence),
            clear_lines: drive.clear_lines(0),
            range: drive.range(),
            second: drive
                .second()
                .map(str::to_owned)
                .zip(drive.read(0, &Probe::Second).map(|m| m.shown.value.round())),
            load: drive.load(0),
            taps: drive.taps().map(|tap| (tap.to_owned(), drive.tap(0, tap).unwrap_or(1.0))).collect(),
            clamp: self.clamp.as_ref().and_then(|part| {
                let amps = drive.read(0, &Probe::Clamp { part: part.clone() })?;
                Some((part.clone(), amps.shown.value + 0.0))
            }),
            meters: self.shown.iter().rev().take(MOST_METERS).rev().map(|s| s.meter.clone()).collect(),
            codes: self.codes.clone(),
            left_on: drive.left_on(),
            slope: drive.slope(),
        }
    }

    /// Places where fuel is seen: now, or by the stain that it left.
    fn wet_places(&self) -> Vec<Wet> {
        let seen = self.drive.wet(0).filter(|(_, flow)| *flow > DRIPS);
        seen.map(|(node, flow)| Wet {
            place: if node == TEE { said("bay-wet-test-tee").to_owned() } else { self.joint_label(node) },
            how: if flow > RUNS { "running" } else { said("bay-wet-dripping") },
        })
        .collect()
    }

    fn gauge_display(&self) -> Option<Gauge> {
        self.drive.tee()?;
        let from =
            self.now().saturating_sub(3 * SECOND / 10).max(self.tee_since).max(self.zeroed_at.map_or(0, |t| t + 1));
        let mbar = self
            .trace
            .mean(&self.trace.mbar, from, self.now())
            .or_else(|| self.trace.mbar.last().copied())
            .filter(|v| v.is_finite())?;
        let (low, high, step) = self.drive.gauge_ends();
        Some(Gauge { mbar, over_range: mbar <= low + step || mbar >= high - step, zeroed_at: self.zeroed_at })
    }

    fn glass(&self) -> Option<Glass> {
        let gas_share = self.drive.gas_in_glass(0)?;
        Some(Glass {
            look: GlassLook::of_gas_share(gas_share),
            gas_share,
            // mL/s over mm² is m/s
            speed_m_s: self.drive.flow_in_glass(0)? / GLASS_AREA_MM2,
        })
    }

    /// How something is right now, as a word that can be written down.
    pub(super) fn perceived(&self, what: Perceived) -> Result<&'static str, String> {
        self.drive.perceived(0, what).ok_or_else(|| {
            match what {
                Perceived::Glass => said("bay-note-no-glass"),
                Perceived::Primer => said("bay-note-no-primer"),
                Perceived::Cap => said("bay-note-no-cap"),
                Perceived::Engine => said("bay-note-no-engine"),
                Perceived::Sample => said("bay-note-no-sample"),
                Perceived::Pump => said("bay-note-no-pump"),
            }
            .to_owned()
        })
    }

    /// The words that may be written for something perceived.
    pub fn words_for(what: Perceived) -> Vec<&'static str> {
        match what {
            Perceived::Glass => GlassLook::ALL.iter().map(|l| l.word()).collect(),
            Perceived::Primer => PrimerFeel::ALL.iter().map(|f| f.word()).collect(),
            Perceived::Cap => CapSound::ALL.iter().map(|c| c.word()).collect(),
            Perceived::Engine => EngineRun::ALL.iter().map(|e| e.word()).collect(),
            Perceived::Sample => SampleLook::ALL.iter().map(|s| s.word()).collect(),
            Perceived::Pump => PumpSound::ALL.iter().map(|p| p.word()).collect(),
        }
    }

    /// Cautions that apply to what is going on now, worst first.
    fn cautions(&self) -> Vec<&'static str> {
        let mut list = vec![];
        if self.control().shut_since.is_some() {
            list.push(if self.is_fed_at_tee() {
                said("bay-caution-dead-head-fed")
            } else {
                said("bay-caution-dead-head")
            });
        }
        if self.job.plant.is_petrol() && self.wet_places().iter().any(|w| w.how == "running") {
            list.push(said("bay-caution-petrol-runs"));
        }
        if self.drive.engine_turns(0) {
            list.push(said("bay-caution-turning"));
        }
        if self.drive.engine_run(0) == EngineRun::Cranking {
            list.push(said("bay-caution-starter"));
        }
        if self.job.plant.is_petrol() {
            list.push(said("bay-caution-petrol"));
        }
        if self.drive.highest_pressure(0) > super::act::UNDER_PRESSURE_PA && !self.drive.engine_turns(0) {
            list.push(said("bay-caution-pressure"));
        }
        if self.drive.key() == Key::On && !self.drive.engine_turns(0) {
            list.push(said("bay-caution-can-start"));
        }
        if self.drive.cap_open() {
            list.push(said("bay-caution-open-filler"));
        }
        if self.drive.container().is_some() {
            let petrol = self.job.plant.is_petrol();
            list.push(if petrol { said("bay-caution-container-petrol") } else { said("bay-caution-container") });
        }
        if self.drive.bridged(0).next().is_some() {
            list.push(said("bay-caution-lead"));
        }
        list.push(said("bay-caution-high-pressure"));
        list
    }
}
