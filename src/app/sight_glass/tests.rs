//! Words and features belong together; every look is a picture of its own.

use std::collections::BTreeSet;

use bevy_egui::egui::{Context, Rect, Shape, pos2};

use super::card::SHOWN;
use super::*;
use crate::app::tokens::{BLUEPRINT, PAPER};
use crate::bay::observation::GlassLook;

const CLEAR: InTube =
    InTube { gas: 0.0, from_outside: 0.0, vapour: 0.0, wax: 0.0, water: 0.0, speed_m_s: 0.5, colour: "amber" };

fn picture(tube: InTube) -> Picture {
    Picture { sight: look(tube), gas: tube.gas as f32, speed_m_s: tube.speed_m_s, tint: Tint::Amber }
}

#[test]
fn each_word_of_the_note_has_a_feature_and_each_feature_a_word() {
    let mut pairs = BTreeSet::new();
    for gas in [0.0, 0.004, 0.01, 0.05, 0.2, 0.5, 0.95] {
        for (wax, water) in [(0.0, 0.0), (0.1, 0.0), (0.5, 0.0), (0.0, 0.02)] {
            for speed_m_s in [-0.1, 0.0, 0.1] {
                let p = picture(InTube { gas, wax, water, speed_m_s, ..CLEAR });
                // what stands or falls as a level has one picture under the word for its gas
                let words: Vec<&str> = p.sight.note().into_iter().filter(|w| *w != "falling level").collect();
                assert_eq!(words.len(), p.features().len(), "{words:?} {:?}", p.features());
                pairs.extend(words.into_iter().zip(p.features()));
                assert_eq!(p.sight.falling, p.features()[0] == Feature::Level && p.sight.motion == Motion::ToTank);
            }
        }
    }
    let words: BTreeSet<&str> = pairs.iter().map(|p| p.0).collect();
    let features: BTreeSet<Feature> = pairs.iter().map(|p| p.1).collect();
    assert_eq!((words.len(), features.len()), (10, 11), "{pairs:?}");
    // a level may stand for foam or slugs; every other feature for one word only
    for feature in features.iter().filter(|f| **f != Feature::Level) {
        assert_eq!(pairs.iter().filter(|p| p.1 == *feature).count(), 1, "{feature:?}: {pairs:?}");
    }
}

#[test]
fn words_say_look_direction_and_pace() {
    let words = |tube| picture(tube).words().join(" | ");
    assert_eq!(words(CLEAR), "clear | fast to the engine");
    assert_eq!(words(InTube { speed_m_s: 0.0, ..CLEAR }), "clear | stands");
    assert_eq!(words(InTube { gas: 0.2, speed_m_s: 0.2, ..CLEAR }), "fine foam | steadily to the engine");
    assert_eq!(
        words(InTube { gas: 0.05, from_outside: 1.0, speed_m_s: 0.1, ..CLEAR }),
        "uneven bubbles | slowly to the engine"
    );
    assert_eq!(
        words(InTube { gas: 0.5, from_outside: 1.0, speed_m_s: -0.1, ..CLEAR }),
        "slugs: gas above fuel, falling level | slowly back to the tank"
    );
    assert_eq!(words(InTube { gas: 0.5, speed_m_s: 0.0, ..CLEAR }), "slugs: gas above fuel | stands");
    assert_eq!(words(InTube { wax: 0.1, ..CLEAR }), "no bubble, haze | fast to the engine");
}

#[test]
fn fuel_goes_as_far_as_its_speed_says() {
    let mut state = GlassState::default();
    let g = Glass { look: GlassLook::Clear, gas_share: 0.0, speed_m_s: 0.5 };
    for _ in 0..60 {
        state.advance(Some(&g), 1.0 / 60.0);
    }
    assert!((state.gone_m - 0.5).abs() < 1e-9, "{}", state.gone_m);
    state.advance(None, 1.0);
    assert_eq!(state.last_m, 0.0);
}

/// Everything that is drawn of a tube.
fn shapes(p: &Picture, state: &GlassState, t: &crate::app::tokens::Tokens) -> Vec<Shape> {
    let ctx = Context::default();
    let mut drawn = vec![];
    let output = ctx.run_ui(bevy_egui::egui::RawInput::default(), |ui| {
        let rect = Rect::from_min_max(pos2(20.0, 20.0), pos2(80.0, 220.0));
        drawn::tube(ui.painter(), rect, Some(p), state, t);
    });
    drawn.extend(output.shapes.into_iter().map(|s| s.shape));
    drawn
}

#[test]
fn every_look_of_the_card_is_another_picture_on_paper_and_on_blueprint() {
    for t in [&PAPER, &BLUEPRINT] {
        let all: Vec<Vec<Shape>> =
            SHOWN.iter().map(|s| shapes(&s.picture(Tint::Amber), &GlassState::default(), t)).collect();
        for (i, a) in all.iter().enumerate() {
            assert!(a.len() > 20, "{}", SHOWN[i].word);
            for b in &all[i + 1..] {
                assert_ne!(a, b, "{}", SHOWN[i].word);
            }
        }
    }
    let diesel = shapes(&SHOWN[0].picture(Tint::Amber), &GlassState::default(), &PAPER);
    for (tint, why) in [(Tint::Pale, "petrol is another colour"), (Tint::Dyed, "so is a dye")] {
        assert_ne!(diesel, shapes(&SHOWN[0].picture(tint), &GlassState::default(), &PAPER), "{why}");
    }
}

#[test]
fn the_card_has_every_word_of_the_trade_and_names_it_as_the_note_does() {
    let on_card: BTreeSet<&str> = SHOWN.iter().map(|s| s.word.said()).collect();
    for shown in &SHOWN {
        assert!(look(shown.tube).note().contains(&shown.word.said()), "{}", shown.word);
    }
    for word in Gas::ALL.map(Gas::words) {
        assert!(word == "empty" || on_card.contains(word), "{word}");
    }
}

#[test]
fn a_look_is_the_same_picture_every_time_and_moves_only_with_the_fuel() {
    let p = SHOWN[4].picture(Tint::Amber);
    let at = |gone_m| shapes(&p, &GlassState { gone_m, ..GlassState::default() }, &PAPER);
    assert_eq!(at(0.01), at(0.01));
    assert_ne!(at(0.01), at(0.02));
}

#[test]
fn no_look_costs_more_than_a_few_hundred_shapes() {
    for shown in &SHOWN {
        for gas in [shown.tube.gas, (shown.tube.gas * 1.4).min(1.0)] {
            let p = picture(InTube { gas, ..shown.tube });
            let count = shapes(&p, &GlassState::default(), &PAPER).len();
            assert!(count < 900, "{}: {count}", shown.word);
        }
    }
}
