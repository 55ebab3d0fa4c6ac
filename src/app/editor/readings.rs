//! What a sound vehicle reads in each state, joint by joint, beside its card; and the card made of it.

use bevy_egui::egui::{Grid, RichText, ScrollArea, Ui, WidgetInfo, WidgetType};

use super::{Editor, Order};
use crate::app::theme::{figures, heading, quiet, regular, remark, tokens};
use crate::app::widgets::{self, Weight};
use crate::app::words::{TRAINING_VALUES, number, range};
use crate::authoring::readings::{AtJoint, Read, Readings};
use crate::language::{named, said};
use crate::scenario::form::{LimitForm, limit_written};
use crate::scenario::patch::Edit;
use crate::scenario::vehicle_form::PlantForm;
use crate::tell;

/// A reading in words.
pub fn read_words(read: &Read) -> String {
    let card = read.limit.map_or(said("readings-card-silent").to_owned(), |(low, high)| {
        let verdict = if read.is_outside() { said("bay-verdict-outside") } else { said("bay-verdict-within") };
        tell!("readings-against-card", verdict = verdict, range = range(low, high))
    });
    tell!(
        "readings-row",
        state = read.words,
        mbar = number(read.shown.mbar, 0),
        card = card,
        glass = read.shown.glass,
        engine = read.shown.engine
    )
}

/// Lines that the card lacks: a joint with a state. The hold is read twice; its range takes both in.
pub fn card_edits(shown: &Readings, form: &PlantForm) -> Vec<Edit> {
    let mut edits: Vec<Edit> = vec![];
    for at in &shown.joints {
        let Ok(reads) = &at.reads else { continue };
        let mut lines: Vec<LimitForm> = vec![];
        for read in reads {
            let (low, high) = read.proposed();
            let state = read.state.word();
            match lines.iter_mut().find(|l| l.state == state) {
                Some(line) => line.range_mbar = (line.range_mbar.0.min(low), line.range_mbar.1.max(high)),
                None => lines.push(LimitForm {
                    joint: at.joint.clone(),
                    state: state.to_owned(),
                    range_mbar: (low, high),
                    ..LimitForm::default()
                }),
            }
        }
        let lacks = |l: &LimitForm| !form.card.iter().any(|c| c.joint == l.joint && c.state == l.state);
        for line in lines.into_iter().filter(lacks) {
            edits.push(Edit::insert("card", form.card.len() + edits.len(), limit_written(&line)));
        }
    }
    edits
}

/// Draws it.
pub fn readings_ui(editor: &Editor, ui: &mut Ui, orders: &mut Vec<Order>) {
    let state = &editor.readings;
    ui.label(quiet(ui, said("readings-lead")));
    if let Some(task) = &state.task {
        let said = tell!("readings-share", share = format!("{:.0}", task.share() * 100.0));
        widgets::progress(ui, task.share(), &said);
    } else if !editor.are_readings_fresh() {
        ui.label(quiet(ui, said("preview-waits")));
    }
    if let Some(why) = &state.trouble {
        ui.label(RichText::new(why).font(regular(13.5)).color(tokens(ui).critical));
    }
    let Some(shown) = &state.shown else { return };
    let lacking = editor.proof.vehicle.as_ref().map_or(0, |form| card_edits(shown, form).len());
    let why = match (lacking, editor.are_readings_fresh()) {
        (_, false) => said("readings-waits"),
        (0, _) => said("readings-none-lacking"),
        _ => "",
    };
    ui.horizontal(|ui| {
        let words = tell!("readings-fill-card", lacking = lacking);
        if widgets::button(ui, Weight::Plain, &words, &words, why.is_empty(), why).clicked() {
            orders.push(Order::FillCard);
        }
        ui.label(quiet(ui, said("readings-fill-card-note")));
    });
    ScrollArea::vertical().id_salt("readings").auto_shrink([false, false]).show(ui, |ui| {
        for at in &shown.joints {
            joint_ui(at, ui);
        }
        ui.label(remark(ui, TRAINING_VALUES));
    });
}

fn joint_ui(at: &AtJoint, ui: &mut Ui) {
    ui.add_space(4.0);
    ui.label(heading(format!("{} ({})", named(&at.label), at.joint)));
    let reads = match &at.reads {
        Ok(reads) => reads,
        Err(why) => {
            ui.label(RichText::new(why).font(regular(13.5)).color(tokens(ui).critical));
            return;
        }
    };
    Grid::new(("readings at", &at.joint)).num_columns(5).spacing([14.0, 2.0]).min_row_height(18.0).show(ui, |ui| {
        ui.spacing_mut().interact_size.y = 18.0;
        for words in [said("state"), "mbar", said("preview-card"), said("preview-glass-column"), said("engine")] {
            ui.label(quiet(ui, words));
        }
        ui.end_row();
        for read in reads {
            let state = ui.label(named(read.words));
            state.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, read_words(read)));
            let figure = format!("{:>6}", number(read.shown.mbar, 0));
            ui.label(RichText::new(figure).font(figures(13.0)));
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 4.0;
                let limit = read.limit.map_or("\u{2013}".to_owned(), |(low, high)| range(low, high));
                if read.is_outside() {
                    widgets::mark_ui(widgets::Mark::Caution, ui);
                }
                ui.label(RichText::new(limit).font(figures(12.5)).color(tokens(ui).second_ink));
            });
            ui.label(named(read.shown.glass));
            ui.label(named(read.shown.engine));
            ui.end_row();
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::authoring::preview::Shown;
    use crate::bay::action::State;
    use crate::scenario::patch::edit_all;
    use crate::scenario::vehicle_form::plant_form;

    fn read(state: State, words: &'static str, mbar: f64, limit: Option<(f64, f64)>) -> Read {
        Read { state, words, limit, shown: Shown { mbar, between: (mbar, mbar), glass: "clear", engine: "steady" } }
    }

    #[test]
    fn the_card_gets_what_it_lacks_and_keeps_what_it_has() {
        let reads = vec![
            read(State::Idle, "idle", -60.0, Some((-80.0, -40.0))),
            read(State::Hold, "hold, 1 min", -10.0, None),
            read(State::Hold, "hold, 5 min", 30.0, None),
        ];
        assert_eq!(
            read_words(&reads[0]),
            "idle: \u{2212}60 mbar; within the card, \u{2212}80 … \u{2212}40; glass clear; engine steady"
        );
        let joint = AtJoint { joint: "p".into(), label: "pump".into(), reads: Ok(reads) };
        let text = "Plant(\n    card: [\n        // mine\n        (joint: \"p\", state: \"idle\", low: mbar(-80), high: \
                    mbar(-40)),\n    ],\n)";
        let form = plant_form(text).unwrap();
        let edits = card_edits(&Readings { joints: vec![joint] }, &form);
        let made = edit_all(text, &edits).unwrap();
        let card = plant_form(&made).unwrap().card;
        assert!(made.contains("// mine") && card.len() == 2, "{made}");
        assert_eq!((card[1].state.as_str(), card[1].range_mbar), ("hold", (-30.0, 50.0)));
    }
}
