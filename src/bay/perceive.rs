//! What a person in the bay perceives now.

use super::Bay;
use super::action::{Key, Perceived, SECOND};
use super::observation::{CapSound, EngineRun, Gauge, Glass, GlassLook, Observation, PrimerFeel, Tee};
use crate::instrument::transducer::{RANGE_HIGH_MBAR, RANGE_LOW_MBAR, STEP_MBAR};
use crate::plant::network::End;

/// Bore of the sight glass, mm²: a tube of 12 mm.
const GLASS_AREA_MM2: f64 = 113.0;

impl Bay {
    /// What can be perceived now.
    pub fn observe(&self) -> Observation {
        Observation {
            at: self.now,
            key: self.key,
            engine: self.engine_run(),
            rpm: (self.rpm() / 10.0).round() * 10.0,
            gauge: self.gauge_display(),
            glass: self.glass(),
            tee: self.rig.tee.as_ref().map(|tee| Tee {
                joint: tee.joint.clone(),
                valve_open: self.car.assembly().valve.map_or(1.0, |v| self.car.state_at(self.now, v)),
                purged_at: self.purged_at,
            }),
            container: self.rig.container.clone(),
            cap_open: self.cap_open,
            cap: self.cap,
            primer: self.primer,
            fuel_gauge: self.job.fuel_gauge,
            charged_min: self.charged_minutes(),
            credits: self.credits,
            cautions: self.cautions(),
        }
    }

    pub(super) fn engine_run(&self) -> EngineRun {
        if self.control.is_cranking() {
            return EngineRun::Cranking;
        }
        if self.control.stalled {
            return EngineRun::Stalled;
        }
        if !self.control.running {
            return EngineRun::Off;
        }
        let gas = self.car.state_at(self.now, self.car.net().engine.n + 3);
        if self.rpm() < 0.93 * self.control.asked || gas > 0.05 { EngineRun::Uneven } else { EngineRun::Steady }
    }

    fn gauge_display(&self) -> Option<Gauge> {
        self.rig.tee.as_ref()?;
        let from = self
            .now
            .saturating_sub(3 * SECOND / 10)
            .max(self.control.tee_since())
            .max(self.zeroed_at.map_or(0, |t| t + 1));
        let mbar = self
            .trace
            .mean(&self.trace.mbar, from, self.now)
            .or_else(|| self.trace.mbar.last().copied())
            .filter(|v| v.is_finite())?;
        Some(Gauge {
            mbar,
            over_range: mbar <= RANGE_LOW_MBAR + STEP_MBAR || mbar >= RANGE_HIGH_MBAR - STEP_MBAR,
            zeroed_at: self.zeroed_at,
        })
    }

    fn glass(&self) -> Option<Glass> {
        let assembly = self.car.assembly();
        let tee = assembly.tee?;
        let net = self.car.net();
        let y = self.car.snapshot(self.now);
        let gas = net.gas_share(tee, &y);
        let mut work = net.workspace();
        let flows = net.flows(&y, &mut work);
        let through: f64 =
            net.links.iter().zip(&flows).filter(|(link, _)| link.to == End::Inlet(tee)).map(|(_, q)| q).sum();
        Some(Glass {
            look: GlassLook::of_gas_share(gas),
            gas_share: gas,
            // mL/s over mm² is m/s
            speed_m_s: through / GLASS_AREA_MM2,
        })
    }

    /// How something is right now, as a word that can be written down.
    pub(super) fn perceived(&self, what: Perceived) -> Result<&'static str, String> {
        match what {
            Perceived::Glass => {
                let tee = self.car.assembly().tee.ok_or("There is no sight glass on the line yet.")?;
                let y = self.car.snapshot(self.now);
                Ok(GlassLook::of_gas_share(self.car.net().gas_share(tee, &y)).word())
            }
            Perceived::Primer => {
                self.primer.map(|(feel, _)| feel.word()).ok_or_else(|| "The primer hasn't been worked yet.".into())
            }
            Perceived::Cap => {
                self.cap.map(CapSound::word).ok_or_else(|| "The filler cap hasn't been opened yet.".into())
            }
            Perceived::Engine => Ok(self.engine_run().word()),
        }
    }

    /// The words that may be written for something perceived.
    pub fn words_for(what: Perceived) -> Vec<&'static str> {
        match what {
            Perceived::Glass => GlassLook::ALL.iter().map(|l| l.word()).collect(),
            Perceived::Primer => PrimerFeel::ALL.iter().map(|f| f.word()).collect(),
            Perceived::Cap => CapSound::ALL.iter().map(|c| c.word()).collect(),
            Perceived::Engine => EngineRun::ALL.iter().map(|e| e.word()).collect(),
        }
    }

    /// Cautions that apply to what is going on now, worst first.
    fn cautions(&self) -> Vec<&'static str> {
        let mut list = vec![];
        if self.dead_head_for().is_some() {
            list.push("Dead-head: at idle, five seconds at most. Many makers forbid it on real machines.");
        }
        if self.engine_turns() {
            list.push("Hot and turning parts; fans may start by themselves. Keep clear.");
        }
        if self.key == Key::On && !self.engine_turns() {
            list.push("The engine can be started: keep hands and clothes clear.");
        }
        if self.cap_open {
            list.push("Fuel vapour at the open filler: no flame, no spark, no phone.");
        }
        if self.rig.container.is_some() {
            list.push("Open fuel in the container: closed and bonded, tray beneath, extinguisher at hand.");
        }
        list.push("The high-pressure side is out of bounds. Never feel for leaks by hand.");
        list
    }
}
