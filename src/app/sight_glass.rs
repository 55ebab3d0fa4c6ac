//! The sight glass, large enough to judge what passes. Speed, share of gas and everything that has a word come from
//! what is seen; only the places of single bubbles are made up (by a fixed rule, so that the picture is the same every
//! time). Each word of the note has a feature of its own in the picture, and each feature a word: two people who look
//! at it write the same. A shader draws it ([`super::stage`]); where there is no renderer, `drawn` does in plain shapes.

mod card;
mod drawn;
#[cfg(test)]
mod tests;

use bevy_egui::egui::{
    Align, Align2, Color32, Pos2, Rect, Sense, Ui, WidgetInfo, WidgetType, pos2, text::LayoutJob, vec2,
};

use super::bridge::Intent;
use super::stage::{self, Drawing, Slot, Tube};
use super::theme::{regular, semibold, tokens};
use super::tokens::Tokens;
use super::widgets;
use crate::bay::observation::{ClearLine, Glass, Observation};
use crate::instrument::sight::{Gas, Grain, InTube, Motion, Sight, Solid, look};
use crate::language::{named, said};
use crate::plant::Plant;
use crate::tell;
pub use card::{SHOWN, card_ui};

/// Length of tube that is seen, m.
pub const TUBE_M: f64 = 0.12;
/// How long the eye gathers what it sees, s.
const EYE_S: f64 = 0.02;
/// Speed from which fuel is said to flow steadily, and fast, m/s.
const STEADY_M_S: f64 = 0.15;
/// See [`STEADY_M_S`].
const FAST_M_S: f64 = 0.35;

/// What moves in the glass.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct GlassState {
    /// Way the fuel has gone, m. Kept within a thousand tubes.
    pub gone_m: f64,
    /// Way in the last frame, m: how far a bubble smears.
    pub last_m: f64,
    /// Time that has gone by, s: vapour grows and vanishes with it. Kept within an hour.
    pub age_s: f64,
}

impl GlassState {
    /// Moves the fuel on by a span of simulated time.
    pub fn advance(&mut self, glass: Option<&Glass>, secs: f64) {
        self.advance_at(glass.map_or(0.0, |g| g.speed_m_s), secs);
    }

    /// The same at a speed, m/s.
    pub fn advance_at(&mut self, speed: f64, secs: f64) {
        // the eye sees no longer than a fiftieth of a second at once, however long a frame takes
        self.last_m = speed * secs.min(EYE_S);
        self.gone_m = (self.gone_m + speed * secs) % (1000.0 * TUBE_M);
        self.age_s = (self.age_s + secs) % 3600.0;
    }
}

/// Colour of a vehicle's fuel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Tint {
    /// Diesel as it comes.
    #[default]
    Amber,
    /// Petrol.
    Pale,
    /// Diesel with a red dye.
    Dyed,
}

impl Tint {
    /// Of what belongs into a vehicle.
    pub fn of(plant: &Plant) -> Self {
        match plant {
            p if p.service.dyed => Self::Dyed,
            p if p.is_petrol() => Self::Pale,
            _ => Self::Amber,
        }
    }

    /// What it is drawn in.
    pub const fn colour(self, t: &Tokens) -> Color32 {
        match self {
            Self::Amber => t.diesel,
            Self::Pale => t.petrol,
            Self::Dyed => t.dyed,
        }
    }
}

/// What there is to draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Picture {
    /// What is seen, in the trade's words.
    pub sight: Sight,
    /// Share of the bore that gas takes, 0 … 1.
    pub gas: f32,
    /// Speed of the fuel, m/s, positive towards the engine.
    pub speed_m_s: f64,
    /// Colour of the fuel.
    pub tint: Tint,
}

/// A feature of the picture; each stands for one word of the note.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Feature {
    /// Motes that show how fuel without a bubble moves.
    Motes,
    /// Few fine bubbles, to be counted.
    PinHeads,
    /// Fine bubbles without number.
    Mist,
    /// Separate bubbles.
    Bubbles,
    /// Bubbles side by side all over.
    Foam,
    /// Plugs of gas with a round nose.
    Slugs,
    /// No fuel but a wet wall.
    Empty,
    /// A level of fuel with gas above it, and drops that run down the wall.
    Level,
    /// A veil.
    Haze,
    /// Flakes.
    Flakes,
    /// Beads of water at the foot.
    Beads,
}

impl Picture {
    /// From what can be perceived.
    pub fn of(seen: &Observation, tint: Tint) -> Option<Self> {
        let glass = seen.glass.as_ref()?;
        let plain = InTube {
            gas: glass.gas_share,
            from_outside: 0.0,
            vapour: 0.0,
            wax: 0.0,
            water: 0.0,
            speed_m_s: glass.speed_m_s,
            colour: "",
        };
        let sight = seen.sight.unwrap_or_else(|| look(plain));
        Some(Self { sight, gas: glass.gas_share.clamp(0.0, 1.0) as f32, speed_m_s: glass.speed_m_s, tint })
    }

    /// Of the ends of a line that is transparent, where the fuel comes in first.
    pub fn of_line(line: &ClearLine, tint: Tint) -> [Self; 2] {
        let end = |(sight, gas): (Sight, f64)| Self {
            sight,
            gas: gas.clamp(0.0, 1.0) as f32,
            speed_m_s: line.speed_m_s,
            tint,
        };
        line.ends.map(end)
    }

    /// What is drawn.
    pub fn features(&self) -> Vec<Feature> {
        let level = self.sight.part_full();
        let mut list = vec![match self.sight.gas {
            Gas::Foam | Gas::Slugs if level => Feature::Level,
            Gas::Clear => Feature::Motes,
            Gas::PinHeads => Feature::PinHeads,
            Gas::Mist => Feature::Mist,
            Gas::Bubbles => Feature::Bubbles,
            Gas::Foam => Feature::Foam,
            Gas::Slugs => Feature::Slugs,
            Gas::Empty => Feature::Empty,
        }];
        match self.sight.solid {
            Solid::None => {}
            Solid::Haze => list.push(Feature::Haze),
            Solid::Flakes => list.push(Feature::Flakes),
        }
        if self.sight.beads {
            list.push(Feature::Beads);
        }
        list
    }

    /// How fast it goes: 0 stands, 1 slowly, 2 steadily, 3 fast.
    pub fn pace(&self) -> usize {
        match self.speed_m_s.abs() {
            _ if self.sight.motion == Motion::Still => 0,
            v if v < STEADY_M_S => 1,
            v if v < FAST_M_S => 2,
            _ => 3,
        }
    }

    /// The note and the motion, a line each.
    pub fn words(&self) -> [String; 2] {
        let mut note: Vec<String> = self.sight.note().into_iter().map(|n| named(n).to_owned()).collect();
        // the gas is what the note begins with
        let gas = note.remove(0);
        let gas = match self.sight {
            Sight { gas: Gas::Clear, .. } if !note.is_empty() => said("bay-sight-no-bubble").to_owned(),
            sight if sight.part_full() => tell!("glass-part-full", gas = gas),
            Sight { gas: Gas::Bubbles | Gas::Foam, grain: Some(grain), .. } => match grain {
                Grain::Fine => tell!("glass-fine", gas = gas),
                Grain::Uneven => tell!("glass-uneven", gas = gas),
                Grain::Boiling => tell!("glass-boiling", gas = gas),
            },
            _ => gas,
        };
        note.insert(0, gas);
        let note = note.join(", ");
        if self.sight.gas == Gas::Empty {
            // nothing is there that could stand or flow
            return [note, String::new()];
        }
        let pace =
            [said("glass-stands"), said("glass-slowly"), said("glass-steadily"), said("glass-fast")][self.pace()];
        let motion = match self.sight.motion {
            Motion::Still => pace.to_owned(),
            Motion::ToEngine => tell!("glass-to-engine", pace = pace),
            Motion::ToTank => tell!("glass-to-tank", pace = pace),
        };
        [note, motion]
    }
}

/// A number from 0 to 1 that depends on nothing but `i` and `k`.
pub(super) fn fixed(i: usize, k: u32) -> f32 {
    let mut h = (i as u32).wrapping_mul(0x9E37_79B9) ^ k.wrapping_mul(0x85EB_CA6B);
    h ^= h >> 15;
    h = h.wrapping_mul(0x2C1B_3C6D);
    h ^= h >> 12;
    h = h.wrapping_mul(0x297A_2D39);
    h ^= h >> 15;
    (h >> 8) as f32 / (1u32 << 24) as f32
}

/// The field that a tube takes with its caps, from pixel to pixel.
fn with_caps(tube: Rect, ui: &Ui) -> Rect {
    let k = tube.width() / 60.0;
    stage::on_pixels(ui.ctx(), tube.expand2(vec2(10.0, 12.0) * k))
}

/// Height of the place up to which the glass has its usual width, points.
const USUAL: f32 = 380.0;
/// Half the bore on the screen at the usual width, points.
const HALF: f32 = 30.0;

/// How wide glass, arrow and words are in a place of this height, points: where there is room, the glass grows with it,
/// so that it stays a tube and doesn't become a stick.
pub fn width_in(high: f32) -> f32 {
    108.0 + 2.0 * HALF * (grown(high) - 1.0)
}

fn grown(high: f32) -> f32 {
    (high / USUAL).clamp(1.0, 1.8)
}

/// Height that the note has under the tube, points.
const NOTE: f32 = 50.0;
/// Width over its height from which a field has the words beside the tube.
const WIDE: f32 = 1.2;

/// Where things lie in the field of the glass.
struct Places {
    tube: Rect,
    /// Middle of the title, or its right end.
    title: Pos2,
    /// Upper middle of the note, or its upper right end.
    note: Pos2,
    /// Width that the note has.
    room: f32,
    align: Align,
}

/// Where the leader from the tee ends: at the upper end of the tube.
pub fn leader_end(rect: Rect) -> Pos2 {
    places(rect).tube.left_top() + vec2(-4.0, 8.0)
}

fn places(rect: Rect) -> Places {
    if rect.width() > WIDE * rect.height() {
        let k = (rect.height() / USUAL).clamp(1.0, 1.8);
        let centre = rect.right() - 40.0 - HALF * k - 10.0 * k;
        let cap = 6.0 + 12.0 * k;
        let tube = Rect::from_min_max(
            pos2(centre - HALF * k, rect.top() + cap),
            pos2(centre + HALF * k, rect.bottom() - cap),
        );
        let right = tube.left() - 26.0;
        let title = pos2(right, rect.center().y - 18.0);
        return Places {
            tube,
            title,
            note: title + vec2(0.0, 14.0),
            room: right - rect.left() - 8.0,
            align: Align::Max,
        };
    }
    let centre = rect.center().x - 6.0;
    let k = grown(rect.height() + 10.0);
    // the caps grow with the tube
    let note = pos2(centre, rect.bottom() - NOTE);
    let (above, below) = (6.0 + 12.0 * k, NOTE + 18.0 + 12.0 * k);
    let tube = Rect::from_min_max(
        pos2(centre - HALF * k, rect.top() + above),
        pos2(centre + HALF * k, rect.bottom() - below),
    );
    Places { tube, title: note - vec2(0.0, 8.0), note, room: rect.width() - 12.0, align: Align::Center }
}

/// Draws glass and text twin into what is left of `ui`. A press opens the card of looks.
pub fn sight_glass_ui(
    picture: Option<&Picture>,
    state: &GlassState,
    reduced_motion: bool,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    let t = tokens(ui);
    let rect = ui.available_rect_before_wrap();
    let words = picture.map_or([said("glass-no-tee").to_owned(), String::new()], Picture::words);
    let aloud = words.iter().filter(|w| !w.is_empty()).cloned().collect::<Vec<_>>().join(", ");
    let response = ui.allocate_rect(rect, Sense::click());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, tell!("glass-said", said = aloud)));
    let painter = ui.painter().clone();
    let Places { tube, title, note, room, align } = places(rect);
    let mut job = LayoutJob::simple(
        words.join("\n"),
        regular(if align == Align::Center { 12.0 } else { 14.0 }),
        t.second_ink,
        room,
    );
    job.halign = align;
    let galley = painter.layout_job(job);
    // three rows of the note have room under the tube; more push it up
    let over = if align == Align::Center { (galley.size().y + 2.0 - NOTE).max(0.0) } else { 0.0 };
    let (tube, up) = (tube.with_max_y(tube.bottom() - over), vec2(0.0, -over));
    let moving = GlassState { last_m: 0.0, gone_m: 0.0, age_s: 0.0 };
    let state = if reduced_motion { &moving } else { state };
    let whole = with_caps(tube, ui);
    let shown =
        Tube { rect: tube.translate(-whole.min.to_vec2()), picture: picture.copied(), state: *state, tokens: t };
    match stage::picture(ui.ctx(), Slot::Glass, whole, t.sheet, Drawing::Tubes(vec![shown])) {
        Ok(shape) => {
            painter.add(shape);
            if let Some(picture) = picture {
                drawn::falling(&painter, tube, picture, t);
            }
        }
        Err(_) => drawn::tube(&painter, tube, picture, state, t),
    }
    if let Some(picture) = picture {
        drawn::motion(&painter, pos2(rect.right() - 9.0, tube.center().y), picture, t);
    }
    let (anchor, size) =
        if align == Align::Center { (Align2::CENTER_CENTER, 13.0) } else { (Align2::RIGHT_CENTER, 16.0) };
    painter.text(title + up, anchor, said("sight-glass"), semibold(size), t.ink);
    painter.galley(note + up, galley, t.second_ink);
    widgets::focus_ring(ui, &response, rect.shrink2(vec2(2.0, 4.0)));
    if response.on_hover_text(said("glass-card")).clicked() {
        intents.push(Intent::GlassCard);
    }
}
