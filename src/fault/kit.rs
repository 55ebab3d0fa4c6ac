//! Mistakes of the tester and faults of the test kit.
//!
//! Priors of these aren't in any list: they are our judgement, alike in all groups.

use super::catalogue::{Class, Fault, Mode, Occasion, Place, Weights, anywhere, by, fix};
use super::{geometric, linear, table};
use crate::language::Msg;
use crate::msg;
use crate::plant::assemble::TEE;

/// What can be wrong with the tester's own kit without being noticed.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct KitFaults {
    /// Offset of the transducer as it comes out of the drawer, mbar. Zeroing removes it.
    pub offset_mbar: f64,
    /// How far the tee's valve really opens when its lever says open, 0 … 1; 0 means fully.
    pub valve_short_of_open: f64,
    /// Air that stays in the sensing hose in spite of purging, mL.
    pub trapped_air_ml: f64,
    /// Effective hole of the tee's own adaptor, mm²; the plant has it as a leak at the tee.
    pub adaptor_hole_mm2: f64,
    /// Steps of the display in the range that was chosen, mbar; 0: as fine as the instrument can.
    pub steps_mbar: f64,
    /// Gauge pressure beyond which the chosen range shows nothing more, mbar; none: it is wide enough.
    pub clips_at_mbar: Option<f64>,
    /// At its first fitting the tee went in on the other side of filter or pump than its label says.
    pub other_side: bool,
    /// Resistance of the kit's own hose beyond what it should have, Pa·s/mL.
    pub hose_resistance: f64,
    /// How much higher than the tank's surface the external container hangs, m.
    pub container_up_m: f64,
}

impl KitFaults {
    /// What a display in the range that came with the kit makes of a value, mbar.
    pub fn spoil(&self, mbar: f64) -> f64 {
        let stepped = if self.steps_mbar > 0.0 { (mbar / self.steps_mbar).round() * self.steps_mbar } else { mbar };
        self.clips_at_mbar.map_or(stepped, |end| stepped.clamp(-end, end))
    }
}

const ALL: &[u8] = &[1, 2, 3, 4, 5, 6, 7, 8, 9, 10];

/// An entry of the kit with what all of them share.
const fn mistake(code: &'static str, name: Msg, about: Msg, weight: f64) -> Fault {
    Fault {
        code,
        name,
        about,
        modes: &[Mode::Air],
        place: Place::Kit,
        remedies: &[],
        fix: fix(2.0, 15.0, Class::C0, Class::C1),
        severities: (1, 5),
        met_in: ALL,
        weights: Weights::of(weight, weight, weight, weight),
        multipliers: &[(Occasion::SinceService, 3.0)],
        reports: msg!("fault-kit-reports"),
        shows: Msg::NONE,
        confused_with: &[],
        separated_by: &[],
        fits: anywhere,
        change: |_| Ok(()),
    }
}

pub(super) const M1: Fault = Fault {
    modes: &[Mode::Ing, Mode::Elp],
    shows: msg!("fault-m1-shows"),
    confused_with: &["F09", "F10"],
    separated_by: &[
        by("T21", "soapy water on one's own joints first"),
        by("T09", "remade with new seals it is gone"),
    ],
    change: |site| {
        let mm2 = geometric(site.severity, 0.002, 0.2);
        site.kit.adaptor_hole_mm2 += mm2;
        site.hole(TEE, mm2);
        Ok(())
    },
    ..mistake("M1", msg!("fault-m1-name"), msg!("fault-m1-about"), 15.0)
};

pub(super) const M2: Fault = Fault {
    shows: msg!("fault-m2-shows"),
    confused_with: &["F02", "F26"],
    separated_by: &[by("T09", "zeroed at air pressure, at the tapping's height, it is gone")],
    change: |site| {
        // the sign follows the fraction of the severity so that both occur
        let size = linear(site.severity, 15.0, 60.0);
        site.kit.offset_mbar += if (site.severity * 10.0) as i64 % 2 == 0 { size } else { -size };
        Ok(())
    },
    ..mistake("M2", msg!("fault-m2-name"), msg!("fault-m2-about"), 20.0)
};

pub(super) const M3: Fault = Fault {
    shows: msg!("fault-m3-shows"),
    confused_with: &["N3"],
    separated_by: &[by("T09", "the right range shows what was missing")],
    change: |site| {
        let steps = geometric(site.severity, 2.0, 50.0);
        let clips = geometric(site.severity, 6000.0, 200.0);
        site.kit.steps_mbar = site.kit.steps_mbar.max(steps);
        site.kit.clips_at_mbar = Some(site.kit.clips_at_mbar.map_or(clips, |before| before.min(clips)));
        Ok(())
    },
    ..mistake("M3", msg!("fault-m3-name"), msg!("fault-m3-about"), 5.0)
};

pub(super) const M4: Fault = Fault {
    modes: &[Mode::Plu],
    shows: msg!("fault-m4-shows"),
    confused_with: &["F07", "F15", "F25"],
    separated_by: &[by("T09", "a look at the lever, a drop across the tee")],
    change: |site| {
        let short = linear(site.severity, 0.4, 0.75);
        site.kit.valve_short_of_open = site.kit.valve_short_of_open.max(short);
        Ok(())
    },
    ..mistake("M4", msg!("fault-m4-name"), msg!("fault-m4-about"), 10.0)
};

pub(super) const M5: Fault = Fault {
    shows: msg!("fault-m5-shows"),
    confused_with: &["F15", "F03"],
    separated_by: &[
        by("T17", "taken off and fitted anew, the reading changes by the part's drop"),
        by("T04", "followed by hand, its hose leads to the other side"),
    ],
    change: |site| {
        site.kit.other_side = true;
        Ok(())
    },
    ..mistake("M5", msg!("fault-m5-name"), msg!("fault-m5-about"), 8.0)
};

pub(super) const M6: Fault = Fault {
    shows: msg!("fault-m6-shows"),
    confused_with: &["F09"],
    separated_by: &[by("T11", "bubbles that fade: a leak's don't"), by("T09", "purged, it is gone")],
    change: |site| {
        site.kit.trapped_air_ml += linear(site.severity, 2.0, 20.0);
        Ok(())
    },
    ..mistake("M6", msg!("fault-m6-name"), msg!("fault-m6-about"), 15.0)
};

pub(super) const M7: Fault = Fault {
    shows: msg!("fault-m7-shows"),
    confused_with: &["M2", "M3"],
    separated_by: &[by("T10", "plausibility: does the value fit the others?")],
    ..mistake("M7", msg!("fault-m7-name"), msg!("fault-m7-about"), 8.0)
};

pub(super) const M8: Fault = Fault {
    modes: &[Mode::Plu],
    shows: msg!("fault-m8-shows"),
    confused_with: &["F07", "F26"],
    separated_by: &[
        by("T16", "container level with the tank, hose short and wide"),
        by("T04", "a look at container and hose"),
        by("T09", "the complaint is worse, or better, with the kit fitted"),
    ],
    change: |site| {
        // a drop of 5 … 80 mbar at 100 l/h, a container 0.1 … 1 m too high
        site.kit.hose_resistance += 100.0 * table(site.severity, [5.0, 12.0, 25.0, 45.0, 80.0]) / 27.8;
        site.kit.container_up_m = site.kit.container_up_m.max(linear(site.severity, 0.1, 1.0));
        Ok(())
    },
    ..mistake("M8", msg!("fault-m8-name"), msg!("fault-m8-about"), 5.0)
};
