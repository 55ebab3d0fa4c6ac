//! What passes in the sight tube, in words.
//!
//! Two people who look at the same tube should write the same note, so the words are few and their
//! borders fixed. They say what is seen, not why: air from outside comes in uneven bubbles, gas that comes
//! out of the fuel in fine ones all alike, vapour grows and vanishes while one looks; wax and emulsified
//! water both begin as a haze. The borders of gas are those of the bay's glass, where pin-head bubbles count
//! as mist; all are engineering estimates for a clear tube of 8 … 12 mm.

use crate::language::{named, said};
use crate::tell;
/// What is in the tube. Shares outside 0 … 1 count as the nearer end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InTube {
    /// Share of the bore taken by gas of any kind.
    pub gas: f64,
    /// Share of that gas that came in from outside.
    pub from_outside: f64,
    /// Share of that gas that is vapour of the fuel.
    pub vapour: f64,
    /// How far wax has gathered: 0 none … 1 all.
    pub wax: f64,
    /// Share of the liquid that is water.
    pub water: f64,
    /// Mean speed, m/s, positive towards the engine.
    pub speed_m_s: f64,
    /// Colour of the fuel, a word before "fuel".
    pub colour: &'static str,
}

/// How much gas.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gas {
    /// Not a bubble.
    Clear,
    /// Pin-head bubbles, few enough to count.
    PinHeads,
    /// So many pin-heads that they make a mist.
    Mist,
    /// Separate bubbles, one after another.
    Bubbles,
    /// So many that they run together.
    Foam,
    /// Gas fills the bore in turns with fuel.
    Slugs,
    /// Nothing but gas.
    Empty,
}

/// How the bubbles look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grain {
    /// Fine and all alike.
    Fine,
    /// Of all sizes, some large.
    Uneven,
    /// They grow and vanish as one looks.
    Boiling,
}

/// What floats in the fuel or clouds it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Solid {
    /// Nothing.
    None,
    /// A haze.
    Haze,
    /// Flakes.
    Flakes,
}

/// Which way it moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Motion {
    /// To the engine.
    ToEngine,
    /// Not at all.
    Still,
    /// Back to the tank.
    ToTank,
}

/// What a person sees in the tube.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sight {
    /// Gas.
    pub gas: Gas,
    /// Look of the bubbles; none without bubbles to judge.
    pub grain: Option<Grain>,
    /// Wax or emulsified water.
    pub solid: Solid,
    /// Beads of water.
    pub beads: bool,
    /// Motion.
    pub motion: Motion,
    /// The level falls: fuel runs back and leaves gas behind.
    pub falling: bool,
    /// Colour of the fuel.
    pub colour: &'static str,
}

/// Speed below which the eye sees no motion, m/s.
const STILL_M_S: f64 = 0.003;

impl Gas {
    /// Every amount, from clear to empty.
    pub const ALL: [Self; 7] =
        [Self::Clear, Self::PinHeads, Self::Mist, Self::Bubbles, Self::Foam, Self::Slugs, Self::Empty];

    /// The amount for a share of gas.
    pub fn of_share(gas: f64) -> Self {
        match gas {
            g if g < 0.002 => Self::Clear,
            g if g < 0.006 => Self::PinHeads,
            g if g < 0.015 => Self::Mist,
            g if g < 0.08 => Self::Bubbles,
            g if g < 0.30 => Self::Foam,
            g if g < 0.90 => Self::Slugs,
            _ => Self::Empty,
        }
    }

    /// The words to write down.
    pub fn words(self) -> &'static str {
        match self {
            Self::Clear => "clear",
            Self::PinHeads => said("bay-sight-pin-heads"),
            Self::Mist => "mist",
            Self::Bubbles => "bubbles",
            Self::Foam => "foam",
            Self::Slugs => "slugs",
            Self::Empty => "empty",
        }
    }

    /// The one word of the bay's glass, which knows no pin-heads apart from mist.
    pub fn glass_word(self) -> &'static str {
        match self {
            Self::PinHeads => "mist",
            other => other.words(),
        }
    }
}

impl Grain {
    /// The words to write down.
    pub fn words(self) -> &'static str {
        match self {
            Self::Fine => said("bay-sight-fine"),
            Self::Uneven => said("bay-sight-of-all-sizes"),
            Self::Boiling => said("bay-sight-boiling"),
        }
    }
}

/// What is seen of what is in the tube.
pub fn look(tube: InTube) -> Sight {
    let gas = Gas::of_share(tube.gas);
    let bubbles = gas > Gas::Clear && gas < Gas::Empty;
    let grain = match tube {
        t if t.vapour > 0.3 => Grain::Boiling,
        t if t.from_outside > 0.3 => Grain::Uneven,
        _ => Grain::Fine,
    };
    let solid = match tube {
        _ if gas == Gas::Empty => Solid::None,
        t if t.wax >= 0.3 => Solid::Flakes,
        t if t.wax >= 0.03 || t.water >= 0.0005 => Solid::Haze,
        _ => Solid::None,
    };
    let motion = match tube.speed_m_s {
        v if v > STILL_M_S => Motion::ToEngine,
        v if v < -STILL_M_S => Motion::ToTank,
        _ => Motion::Still,
    };
    Sight {
        gas,
        grain: bubbles.then_some(grain),
        solid,
        beads: gas != Gas::Empty && tube.water >= 0.005,
        motion,
        falling: motion == Motion::ToTank && gas >= Gas::Foam && gas < Gas::Empty,
        colour: tube.colour,
    }
}

impl Sight {
    /// The note: only the words that differ from clear fuel, always in the same order.
    pub fn note(self) -> Vec<&'static str> {
        let mut words = vec![self.gas.words()];
        match self.solid {
            Solid::None => {}
            Solid::Haze => words.push(said("bay-sight-haze")),
            Solid::Flakes => words.push(said("bay-sight-flakes")),
        }
        if self.beads {
            words.push(said("bay-sight-beads"));
        }
        if self.falling {
            words.push(said("bay-sight-falling"));
        }
        words
    }

    /// The picture as a sentence.
    pub fn sentence(self) -> String {
        if self.gas == Gas::Empty {
            return said("bay-sight-empty").to_owned();
        }
        let motion = match self.motion {
            Motion::ToEngine => said("bay-sight-to-engine"),
            Motion::Still => said("bay-sight-stands"),
            Motion::ToTank => said("bay-sight-to-tank"),
        };
        let mut colour = self.colour.chars();
        let colour: String =
            colour.next().map_or_else(String::new, |first| first.to_uppercase().chain(colour).collect());
        let note = self.told();
        let sentence = if self.part_full() {
            tell!("bay-sight-part-full", colour = colour, motion = motion, note = note)
        } else {
            tell!("bay-sight-sentence", colour = colour, motion = motion, note = note)
        };
        sentence.trim_start().to_owned()
    }

    /// Gas stands over fuel: what slugs and foam become once nothing drives them on.
    pub fn part_full(self) -> bool {
        self.falling || (self.gas == Gas::Slugs && self.motion == Motion::Still)
    }

    /// The note as a sentence ends with it: with the look of the bubbles, and "clear" only where nothing else is seen.
    fn told(self) -> String {
        let mut words: Vec<String> = self.note().into_iter().map(|word| named(word).to_owned()).collect();
        match self.grain {
            Some(grain) if !self.part_full() => {
                words[0] = tell!("bay-sight-gas-grain", gas = named(self.gas.words()), grain = grain.words());
            }
            None if words.len() > 1 => {
                words.remove(0);
                words.push(said("bay-sight-no-bubble").to_owned());
            }
            _ => {}
        }
        words.join(", ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CLEAN: InTube =
        InTube { gas: 0.0, from_outside: 0.0, vapour: 0.0, wax: 0.0, water: 0.0, speed_m_s: 0.5, colour: "amber" };

    #[test]
    fn each_picture_has_its_sentence() {
        for (tube, sentence) in [
            (CLEAN, "Amber fuel flows to the engine: clear."),
            (
                InTube { gas: 0.004, ..CLEAN },
                "Amber fuel flows to the engine: pin-head bubbles fine and all alike.",
            ),
            (
                InTube { gas: 0.05, from_outside: 0.9, ..CLEAN },
                "Amber fuel flows to the engine: bubbles of all sizes, some large.",
            ),
            (
                InTube { gas: 0.2, vapour: 0.9, colour: "pale yellow", ..CLEAN },
                "Pale yellow fuel flows to the engine: foam growing and vanishing.",
            ),
            (InTube { wax: 0.1, ..CLEAN }, "Amber fuel flows to the engine: haze, no bubble."),
            (
                InTube { wax: 0.8, water: 0.02, speed_m_s: 0.0, ..CLEAN },
                "Amber fuel stands: flakes, beads of water, no bubble.",
            ),
            (
                InTube { gas: 0.5, from_outside: 1.0, speed_m_s: -0.01, ..CLEAN },
                "Amber fuel runs back to the tank, gas above it: slugs, falling level.",
            ),
            (
                InTube { gas: 0.5, from_outside: 1.0, speed_m_s: 0.0, ..CLEAN },
                "Amber fuel stands, gas above it: slugs.",
            ),
            (
                InTube { gas: 0.5, from_outside: 1.0, ..CLEAN },
                "Amber fuel flows to the engine: slugs of all sizes, some large.",
            ),
            (InTube { gas: 0.95, water: 0.1, ..CLEAN }, "The tube is empty: gas from end to end."),
            (InTube { colour: "", ..CLEAN }, "fuel flows to the engine: clear."),
        ] {
            assert_eq!(look(tube).sentence(), sentence);
        }
    }

    #[test]
    fn more_gas_is_never_a_smaller_word() {
        let words: Vec<Gas> = (0..=1000).map(|i| Gas::of_share(f64::from(i) / 1000.0)).collect();
        assert!(words.windows(2).all(|w| w[0] <= w[1]));
        assert_eq!(words.first(), Some(&Gas::Clear));
        assert_eq!(words.last(), Some(&Gas::Empty));
        for gas in Gas::ALL {
            assert!(words.contains(&gas), "{gas:?}");
        }
    }

    #[test]
    fn notes_keep_to_the_trades_words() {
        let trade = [
            "clear",
            "pin-head bubbles",
            "mist",
            "bubbles",
            "slugs",
            "foam",
            "haze",
            "flakes",
            "beads of water",
            "falling level",
            "empty",
        ];
        let mut used = std::collections::BTreeSet::new();
        for gas in [0.0, 0.004, 0.01, 0.05, 0.2, 0.5, 0.95] {
            for (wax, water) in [(0.0, 0.0), (0.1, 0.0), (0.5, 0.0), (0.0, 0.001), (0.0, 0.01)] {
                for speed_m_s in [-0.1, 0.0, 0.1] {
                    used.extend(look(InTube { gas, wax, water, speed_m_s, ..CLEAN }).note());
                }
            }
        }
        assert_eq!(used, trade.into_iter().collect());
    }
}
