//! Sounds as described events: what ears get, with a caption and a loudness, so that nobody needs
//! loudspeakers and nobody needs ears.
//!
//! Captions say what is heard, not what is wrong. Loudness 0 … 1 is as heard beside the vehicle with the
//! bonnet open: 0.1 a quiet workshop's limit, 0.3 talk, 0.7 an engine raised, 1 a starter beside you. A
//! running engine drowns faint sounds: [`heard`] leaves them out. All borders are engineering estimates.

use crate::language::said;
/// A kind of sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sound {
    /// An electric pump under load.
    PumpHum,
    /// An electric pump that runs fast on gas.
    PumpWhine,
    /// A pump that is fed and doesn't turn.
    PumpSilent,
    /// Injection with air in it.
    InjectionRattle,
    /// A relay that closes or opens.
    RelayClick,
    /// Air at the filler cap.
    CapHiss,
    /// The starter.
    Starter,
    /// The starter on a low battery.
    StarterSlow,
    /// An engine that runs evenly.
    EngineEven,
    /// An engine that hunts or sags.
    EngineUneven,
    /// Fuel that drips.
    Dripping,
    /// Fuel that sprays or runs.
    Spraying,
    /// The regulator or overflow valve, humming with the flow through it.
    ValveHum,
}

impl Sound {
    /// Every sound.
    pub const ALL: [Self; 13] = [
        Self::PumpHum,
        Self::PumpWhine,
        Self::PumpSilent,
        Self::InjectionRattle,
        Self::RelayClick,
        Self::CapHiss,
        Self::Starter,
        Self::StarterSlow,
        Self::EngineEven,
        Self::EngineUneven,
        Self::Dripping,
        Self::Spraying,
        Self::ValveHum,
    ];

    /// The caption.
    pub fn caption(self) -> &'static str {
        match self {
            Self::PumpHum => said("bay-sound-pump-hum"),
            Self::PumpWhine => said("bay-sound-pump-whine"),
            Self::PumpSilent => said("bay-sound-pump-silent"),
            Self::InjectionRattle => said("bay-sound-injection"),
            Self::RelayClick => said("bay-sound-relay"),
            Self::CapHiss => said("bay-sound-cap-hiss"),
            Self::Starter => said("bay-sound-starter"),
            Self::StarterSlow => said("bay-sound-starter-slow"),
            Self::EngineEven => said("bay-sound-engine-even"),
            Self::EngineUneven => said("bay-sound-engine-uneven"),
            Self::Dripping => said("bay-sound-dripping"),
            Self::Spraying => said("bay-sound-spraying"),
            Self::ValveHum => said("bay-sound-valve-hum"),
        }
    }
}

/// A sound as it is heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heard {
    /// Which.
    pub sound: Sound,
    /// How loud, 0 … 1.
    pub loudness: f64,
}

/// An electric pump, as far as it sounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PumpSound {
    /// Volts across its motor.
    pub volts: f64,
    /// Its speed against that of a sound one at rated state.
    pub speed: f64,
    /// Share of gas at its inlet, 0 … 1.
    pub inlet_gas: f64,
}

/// Everything that may sound now.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sources {
    /// The electric pump, when there is one.
    pub pump: Option<PumpSound>,
    /// Speed of the engine, 1/min.
    pub engine_rpm: f64,
    /// The starter turns it.
    pub cranking: bool,
    /// Its speed hunts or sags.
    pub uneven: bool,
    /// Share of air in what is injected, 0 … 1.
    pub injected_air: f64,
    /// A relay has just switched.
    pub relay: bool,
    /// The filler cap has just been opened over this pressure, Pa gauge.
    pub cap_opened_over: Option<f64>,
    /// Fuel that leaves through holes, mL/s.
    pub leaking: f64,
    /// Flow through a regulator or overflow valve, mL/s.
    pub valve_flow: f64,
}

/// Pressure at a cap below which nobody hears a hiss, Pa.
const SILENT_CAP_PA: f64 = 1_000.0;
/// A starter slower than this labours, 1/min.
const LABOURING_RPM: f64 = 150.0;
/// Leak beyond which it sprays, mL/s.
const SPRAY_ML_S: f64 = 1.0;
/// Share of the loudest sound that masks fainter ones.
const MASKING: f64 = 0.2;
/// Quietest sound that a workshop lets one hear.
const FAINTEST: f64 = 0.05;

/// The hum or whine of a pump, and its silence when it is fed and stands.
pub fn pump_sound(pump: PumpSound) -> Option<Heard> {
    let heard = |sound, loudness: f64| Some(Heard { sound, loudness: loudness.clamp(0.0, 1.0) });
    if pump.speed < 0.05 {
        return if pump.volts > 4.0 { heard(Sound::PumpSilent, FAINTEST) } else { None };
    }
    if pump.inlet_gas > 0.15 {
        return heard(Sound::PumpWhine, 0.3 * pump.speed + 0.2 * pump.inlet_gas);
    }
    heard(Sound::PumpHum, 0.2 * pump.speed)
}

/// The engine or its starter.
fn engine_sound(s: &Sources) -> Option<Heard> {
    if s.cranking {
        let sound = if s.engine_rpm < LABOURING_RPM { Sound::StarterSlow } else { Sound::Starter };
        return Some(Heard { sound, loudness: 0.6 });
    }
    if s.engine_rpm < 100.0 {
        return None;
    }
    let sound = if s.uneven { Sound::EngineUneven } else { Sound::EngineEven };
    Some(Heard { sound, loudness: (0.3 + s.engine_rpm * 1.4e-4).min(1.0) })
}

/// What is heard now, loudest first; what louder sounds drown is left out. A relay's click and a hiss are
/// short and sharp and get through.
pub fn heard(s: &Sources) -> Vec<Heard> {
    let mut all: Vec<Heard> = engine_sound(s).into_iter().chain(s.pump.and_then(pump_sound)).collect();
    let mut add = |when: bool, sound, loudness: f64| {
        if when {
            all.push(Heard { sound, loudness: loudness.clamp(0.0, 1.0) });
        }
    };
    let turning = s.engine_rpm > 100.0;
    add(turning && s.injected_air > 0.03, Sound::InjectionRattle, 0.3 + s.injected_air);
    add(s.relay, Sound::RelayClick, 0.2);
    if let Some(pa) = s.cap_opened_over {
        add(pa.abs() > SILENT_CAP_PA, Sound::CapHiss, 0.1 + pa.abs() / 40_000.0);
    }
    add(s.leaking > 0.01 && s.leaking <= SPRAY_ML_S, Sound::Dripping, 0.08);
    add(s.leaking > SPRAY_ML_S, Sound::Spraying, 0.15 + 0.02 * s.leaking);
    add(s.valve_flow > 20.0, Sound::ValveHum, 0.002 * s.valve_flow);
    let loudest = all.iter().map(|h| h.loudness).fold(0.0, f64::max);
    all.retain(|h| {
        let sharp = matches!(h.sound, Sound::RelayClick | Sound::CapHiss);
        h.loudness >= FAINTEST && (sharp || h.loudness >= MASKING * loudest)
    });
    all.sort_by(|a, b| b.loudness.total_cmp(&a.loudness).then(a.sound.cmp(&b.sound)));
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn sounds(s: Sources) -> Vec<Sound> {
        heard(&s).into_iter().map(|h| h.sound).collect()
    }

    fn pump(volts: f64, speed: f64, inlet_gas: f64) -> Sources {
        Sources { pump: Some(PumpSound { volts, speed, inlet_gas }), ..Sources::default() }
    }

    #[test]
    fn pumps_hum_whine_or_stay_silent() {
        assert_eq!(sounds(pump(12.4, 1.0, 0.0)), [Sound::PumpHum]);
        assert_eq!(sounds(pump(12.4, 1.1, 0.5)), [Sound::PumpWhine]);
        assert_eq!(sounds(pump(12.4, 0.0, 0.0)), [Sound::PumpSilent]);
        assert_eq!(sounds(pump(0.0, 0.0, 0.0)), []);
        let loud = |s: Sources| heard(&s)[0].loudness;
        assert!(loud(pump(12.4, 1.1, 0.5)) > loud(pump(12.4, 1.0, 0.0)));
    }

    #[test]
    fn a_cap_hisses_from_some_millibar_on() {
        let cap = |pa| Sources { cap_opened_over: Some(pa), ..Sources::default() };
        assert_eq!(sounds(cap(-300.0)), []);
        assert_eq!(sounds(cap(-6_000.0)), [Sound::CapHiss]);
        assert!(heard(&cap(-20_000.0))[0].loudness > heard(&cap(-6_000.0))[0].loudness);
        assert_eq!(sounds(cap(6_000.0)), [Sound::CapHiss]);
    }

    #[test]
    fn a_running_engine_drowns_what_is_faint_but_not_what_is_sharp() {
        let s = Sources { engine_rpm: 2500.0, leaking: 0.1, relay: true, ..Sources::default() };
        assert_eq!(sounds(s), [Sound::EngineEven, Sound::RelayClick]);
        assert_eq!(sounds(Sources { leaking: 0.1, ..Sources::default() }), [Sound::Dripping]);
        let air = Sources { engine_rpm: 800.0, uneven: true, injected_air: 0.1, ..Sources::default() };
        assert_eq!(sounds(air), [Sound::EngineUneven, Sound::InjectionRattle]);
        let starter = |engine_rpm| sounds(Sources { cranking: true, engine_rpm, ..Sources::default() });
        assert_eq!(starter(210.0), [Sound::Starter]);
        assert_eq!(starter(110.0), [Sound::StarterSlow]);
    }

    #[test]
    fn captions_are_sentences_and_differ() {
        let captions: std::collections::BTreeSet<_> = Sound::ALL.iter().map(|s| s.caption()).collect();
        assert_eq!(captions.len(), Sound::ALL.len());
        assert!(captions.iter().all(|c| c.ends_with('.')));
    }

    proptest! {
        #[test]
        fn loudness_stays_within_0_and_1(
            rpm in 0.0..8000.0_f64, volts in 0.0..30.0_f64, speed in 0.0..5.0_f64, gas in 0.0..=1.0_f64,
            leak in 0.0..500.0_f64, valve in 0.0..500.0_f64, cap in -1e5..1e5_f64,
        ) {
            let s = Sources {
                pump: Some(PumpSound { volts, speed, inlet_gas: gas }),
                engine_rpm: rpm,
                injected_air: gas,
                cap_opened_over: Some(cap),
                leaking: leak,
                valve_flow: valve,
                ..Sources::default()
            };
            let list = heard(&s);
            prop_assert!(list.iter().all(|h| (0.0..=1.0).contains(&h.loudness)));
            prop_assert!(list.windows(2).all(|w| w[0].loudness >= w[1].loudness));
        }
    }
}
