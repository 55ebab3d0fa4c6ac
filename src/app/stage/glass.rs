//! The sight glass as a material: numbers for `assets/shaders/glass.wgsl`.

use bevy::asset::uuid_handle;
use bevy::prelude::*;
use bevy::render::render_resource::AsBindGroup;
use bevy::shader::{Shader, ShaderRef};
use bevy::sprite_render::Material2d;
use bevy_egui::egui::Color32;

use super::Tube;
use crate::app::sight_glass::{Feature, Picture, TUBE_M};
use crate::app::theme::mixed;
use crate::app::tokens::{EDGE, LIGHT, Tokens};
use crate::instrument::sight::{Grain, Motion};

/// The shader; it is in the executable.
pub(super) const SHADER: Handle<Shader> = uuid_handle!("6f0f6a52-95f5-4b27-9a35-1f0b8f7f3c11");

/// Width of a tube in the shader's units.
const WIDTH: f32 = 60.0;
/// What the caps reach beyond the tube at each side and at each end, in the same units.
pub(super) const OVER: [f32; 2] = [10.0, 12.0];

/// A tube and what is in it.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug, Default, PartialEq)]
pub(super) struct GlassMaterial {
    #[uniform(0)]
    fuel: Vec4,
    #[uniform(0)]
    light: Vec4,
    #[uniform(0)]
    edge: Vec4,
    #[uniform(0)]
    ground: Vec4,
    #[uniform(0)]
    sheet: Vec4,
    #[uniform(0)]
    ink: Vec4,
    #[uniform(0)]
    metal: Vec4,
    #[uniform(0)]
    water: Vec4,
    #[uniform(0)]
    size: Vec4,
    #[uniform(0)]
    state: Vec4,
    #[uniform(0)]
    what: Vec4,
    #[uniform(0)]
    more: Vec4,
    #[uniform(0)]
    also: Vec4,
}

impl Material2d for GlassMaterial {
    fn fragment_shader() -> ShaderRef {
        SHADER.into()
    }
}

/// As the shader mixes colours.
pub(super) fn colour(c: Color32) -> Vec4 {
    let part = |byte: u8| f32::from(byte) / 255.0;
    Vec4::new(part(c.r()), part(c.g()), part(c.b()), 1.0)
}

/// Number of a main feature in the shader; what floats in the fuel has switches of its own.
fn number(feature: Feature) -> f32 {
    match feature {
        Feature::Motes => 0.0,
        Feature::PinHeads => 1.0,
        Feature::Mist => 2.0,
        Feature::Bubbles => 3.0,
        Feature::Foam => 4.0,
        Feature::Slugs => 5.0,
        Feature::Empty => 6.0,
        Feature::Level => 7.0,
        Feature::Haze | Feature::Flakes | Feature::Beads => 0.0,
    }
}

/// A switch.
fn on(it: bool) -> f32 {
    if it { 1.0 } else { 0.0 }
}

/// High contrast: black on white, or white on black.
fn strong(t: &Tokens) -> bool {
    t.ground == t.sheet
}

/// What passes, as the shaders of tube and line want it.
pub(super) struct Seen {
    pub(super) fuel: Vec4,
    pub(super) edge: Vec4,
    /// Main feature, grain, haze, flakes.
    pub(super) what: Vec4,
    pub(super) beads: f32,
    /// 1 to the engine, −1 to the tank, 0 stands.
    pub(super) to: f32,
}

impl Seen {
    pub(super) fn of(picture: &Picture, t: &Tokens) -> Self {
        let features = picture.features();
        let has = |feature| on(features.contains(&feature));
        let fuel = picture.tint.colour(t);
        // the rim of a bubble is fuel without light; in high contrast it is nearly black
        let dim = |byte: u8, share: f32| (f32::from(byte) * share) as u8;
        let rim = Color32::from_rgb(dim(fuel.r(), 0.42), dim(fuel.g(), 0.38), dim(fuel.b(), 0.32));
        let grain = match picture.sight.grain.unwrap_or(Grain::Fine) {
            Grain::Fine => 0.0,
            Grain::Uneven => 1.0,
            Grain::Boiling => 2.0,
        };
        Self {
            fuel: colour(fuel),
            edge: colour(mixed(rim, EDGE, if strong(t) { 0.9 } else { 0.25 })),
            what: Vec4::new(number(features[0]), grain, has(Feature::Haze), has(Feature::Flakes)),
            beads: has(Feature::Beads),
            to: match picture.sight.motion {
                Motion::ToEngine => 1.0,
                Motion::Still => 0.0,
                Motion::ToTank => -1.0,
            },
        }
    }
}

impl GlassMaterial {
    /// Of a tube that is drawn at so many pixels a point.
    pub(super) fn of(tube: &Tube, per_point: f32) -> Self {
        let t = tube.tokens;
        let k = tube.rect.width() / WIDTH;
        let high = tube.rect.height() / k;
        let pixel = 1.0 / (k * per_point);
        let size = Vec4::new(WIDTH + 2.0 * OVER[0], high + 2.0 * OVER[1], pixel, on(strong(t)));
        let mut material = Self {
            light: colour(LIGHT),
            ground: colour(t.ground),
            sheet: colour(t.sheet),
            ink: colour(t.ink),
            metal: colour(mixed(t.ink, t.faint, 0.85)),
            water: colour(t.water),
            size,
            ..Self::default()
        };
        let Some(picture) = &tube.picture else { return material };
        let seen = Seen::of(picture, t);
        material.fuel = seen.fuel;
        material.edge = seen.edge;
        material.what = seen.what;
        material.state = Vec4::new(
            picture.gas,
            (tube.state.gone_m / TUBE_M) as f32,
            (tube.state.last_m.abs() / TUBE_M) as f32 * high,
            tube.state.age_s as f32,
        );
        material.more = Vec4::new(seen.beads, 0.0, on(picture.sight.falling), seen.to);
        material.also = Vec4::new(picture.speed_m_s as f32, 0.0, 1.0, 0.0);
        material
    }
}

#[cfg(test)]
mod tests {
    use bevy_egui::egui::{Rect, pos2};

    use super::*;
    use crate::app::sight_glass::{GlassState, SHOWN, Tint};
    use crate::app::tokens::{BLUEPRINT, BLUEPRINT_HIGH, PAPER, PAPER_HIGH};

    fn tube(picture: Picture, state: GlassState, tokens: &'static Tokens) -> GlassMaterial {
        let rect = Rect::from_min_max(pos2(10.0, 12.0), pos2(70.0, 214.0));
        GlassMaterial::of(&Tube { rect, picture: Some(picture), state, tokens }, 1.0)
    }

    #[test]
    fn every_look_of_the_card_is_told_to_the_shader_apart_on_every_paper() {
        for tokens in [&PAPER, &BLUEPRINT, &PAPER_HIGH, &BLUEPRINT_HIGH] {
            let all: Vec<_> =
                SHOWN.iter().map(|s| tube(s.picture(Tint::Amber), GlassState::default(), tokens)).collect();
            for (i, a) in all.iter().enumerate() {
                for b in &all[i + 1..] {
                    assert!(
                        a.what != b.what || a.more != b.more,
                        "{}: amount of gas alone doesn't tell a word",
                        SHOWN[i].word
                    );
                }
            }
        }
        let fuel = |tint| tube(SHOWN[0].picture(tint), GlassState::default(), &PAPER).fuel;
        assert_ne!(fuel(Tint::Amber), fuel(Tint::Pale));
        assert_ne!(fuel(Tint::Amber), fuel(Tint::Dyed));
    }

    #[test]
    fn a_tube_moves_with_the_fuel_and_is_otherwise_the_same_picture() {
        let p = SHOWN[4].picture(Tint::Amber);
        let at = |gone_m| tube(p, GlassState { gone_m, ..GlassState::default() }, &PAPER);
        assert_eq!(at(0.03), at(0.03));
        assert_ne!(at(0.03), at(0.04));
        // a tube further on
        assert!((at(TUBE_M).state.y - 1.0).abs() < 1e-6);
    }

    /// The shader's own names for the numbers that it gets.
    #[test]
    fn shaders_and_program_number_the_features_alike() {
        let glass = include_str!("../../../assets/shaders/glass.wgsl");
        let flow = include_str!("../../../assets/shaders/flow.wgsl");
        for (name, feature) in [
            ("MOTES", Feature::Motes),
            ("PIN_HEADS", Feature::PinHeads),
            ("MIST", Feature::Mist),
            ("BUBBLES", Feature::Bubbles),
            ("FOAM", Feature::Foam),
            ("SLUGS", Feature::Slugs),
            ("EMPTY", Feature::Empty),
            ("LEVEL", Feature::Level),
        ] {
            let line = format!("const {name}: i32 = {};", number(feature));
            assert!(glass.contains(&line) && flow.contains(&line), "{line}");
        }
    }
}
