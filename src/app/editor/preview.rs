//! What the fault shows: the standard run on a sound vehicle and on the job's, drawn over one another, and what each
//! state reads.

use bevy_egui::egui::{
    self, Align2, Color32, Grid, RichText, ScrollArea, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2,
};

use super::{Editor, Order};
use crate::app::chart_draw;
use crate::app::theme::{figures, heading, quiet, regular, remark, tokens};
use crate::app::widgets;
use crate::app::words::{TRAINING_VALUES, number, range};
use crate::authoring::preview::{Preview, Row};
use crate::bay::action::{Micros, SECOND};
use crate::language::{named, said};
use crate::tell;
use crate::trace::Trace;

/// Share of the chart's width that shows the engine running; the hold after it goes on slower paper.
const RUNNING: f32 = 0.7;

/// A row in words.
pub fn row_words(row: &Row) -> String {
    let glass = if row.sound.glass == row.wrong.glass {
        tell!("preview-glass", glass = row.wrong.glass)
    } else {
        tell!("preview-glass-both", glass = row.wrong.glass, sound = row.sound.glass)
    };
    tell!(
        "preview-row",
        state = row.state,
        mbar = number(row.wrong.mbar, 0),
        sound = number(row.sound.mbar, 0),
        card = row.limit.map_or(said("preview-card-silent").to_owned(), |(low, high)| range(low, high)),
        glass = glass,
        engine = row.wrong.engine,
        verdict = verdict(row)
    )
}

/// What a learner could see by it.
pub fn verdict(row: &Row) -> &'static str {
    match (row.is_outside(), row.is_alike()) {
        (true, false) => said("preview-outside"),
        (true, true) => said("preview-outside-both"),
        (false, true) => said("preview-alike"),
        (false, false) => said("preview-within"),
    }
}

/// Whether anything could be found, in a sentence.
pub fn summary(preview: &Preview) -> String {
    let telling: Vec<&str> = preview.rows.iter().filter(|r| !r.is_alike()).map(|r| named(r.state)).collect();
    match telling.as_slice() {
        [] if preview.words == "nothing wrong" => said("preview-nothing-wrong").to_owned(),
        [] if preview.silent => said("lint-silent").to_owned(),
        [] => tell!("preview-tells-nothing", joint = preview.joint),
        some => tell!("preview-tells", joint = preview.joint, states = some.join(", ")),
    }
}

/// Draws it.
pub fn preview_ui(editor: &Editor, ui: &mut Ui, orders: &mut Vec<Order>) {
    let state = &editor.preview;
    let joints = editor.proof.plant.as_ref().map(|p| p.joints()).unwrap_or_default();
    ui.horizontal(|ui| {
        ui.label(quiet(ui, said("preview-tee-at")));
        let now = state.joint.clone().unwrap_or_default();
        let label = |name: &str| joints.iter().find(|j| j.0 == name).map(|j| j.1.clone());
        let shown = label(&now).unwrap_or_else(|| said("preview-joint-best").to_owned());
        let combo = egui::ComboBox::from_id_salt("joint of the preview")
            .width(240.0)
            .selected_text(named(&shown))
            .show_ui(ui, |ui| {
                if widgets::entry(ui, now.is_empty(), said("preview-joint-best")) {
                    orders.push(Order::Joint(None));
                }
                for (name, label) in &joints {
                    if widgets::entry(ui, *name == now, named(label)) {
                        orders.push(Order::Joint(Some(name.clone())));
                    }
                }
            });
        let name = tell!("preview-joint", shown = shown);
        widgets::list_named(&combo.response, &name);
        let at_times = editor.proof.form.as_ref().is_ok_and(|f| f.wrong.iter().any(|w| !w.when.is_empty()));
        let mut always = state.always;
        if at_times && ui.checkbox(&mut always, said("preview-always")).changed() {
            orders.push(Order::Always(always));
        }
    });
    if let Some(task) = &state.task {
        let said = tell!("preview-share", share = format!("{:.0}", task.share() * 100.0));
        widgets::progress(ui, task.share(), &said);
    } else if !editor.is_preview_fresh() {
        ui.label(quiet(ui, said("preview-waits")));
    }
    if let Some(why) = &state.trouble {
        ui.label(RichText::new(why).font(regular(13.5)).color(tokens(ui).critical));
    }
    let Some(preview) = &state.shown else { return };
    ScrollArea::vertical().id_salt("preview").auto_shrink([false, false]).show(ui, |ui| {
        ui.label(RichText::new(summary(preview)).font(regular(14.0)));
        if preview.is_at_times && !state.always {
            ui.label(quiet(ui, said("preview-at-times")));
        }
        chart_ui(preview, ui);
        table_ui(preview, ui);
        ui.label(remark(ui, TRAINING_VALUES));
    });
}

fn chart_ui(preview: &Preview, ui: &mut Ui) {
    let t = tokens(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width() - 4.0, 210.0), Sense::hover());
    response.widget_info(|| {
        WidgetInfo::labeled(WidgetType::Image, true, tell!("preview-chart", summary = summary(preview)))
    });
    let paper = egui::Rect::from_min_max(rect.min + vec2(46.0, 18.0), rect.max - vec2(6.0, 18.0));
    let painter = ui.painter();
    painter.rect_filled(paper, 0, t.chart);
    let values = || preview.sound.mbar.iter().chain(&preview.wrong.mbar).copied().filter(|v| v.is_finite());
    let (low, high) = (values().fold(-20.0, f64::min), values().fold(20.0, f64::max));
    let (low, high) = (low - 0.05 * (high - low), high + 0.05 * (high - low));
    let y = |v: f64| paper.bottom() - ((v - low) / (high - low)) as f32 * paper.height();
    let step = crate::app::chart_draw::step_for((high - low) / 5.0);
    let mut line = (low / step).ceil() * step;
    while line <= high {
        painter.hline(paper.x_range(), y(line), Stroke::new(1.0, t.fine_grid));
        painter.text(
            pos2(paper.left() - 4.0, y(line)),
            Align2::RIGHT_CENTER,
            number(line, 0),
            figures(11.0),
            t.second_ink,
        );
        line += step;
    }
    let x = |at: Micros| across(preview, at, paper);
    let mut clear_of = f32::MIN;
    for tick in &preview.sound.ticks {
        let at = x(tick.at);
        painter.vline(at, paper.y_range(), Stroke::new(1.0, t.fine_grid));
        let word = painter.layout_no_wrap(named(&tick.word).to_owned(), regular(11.5), t.second_ink);
        if at > clear_of {
            clear_of = at + word.size().x + 4.0;
            painter.galley(pos2(at + 1.0, paper.top() - 16.0), word, t.second_ink);
        }
    }
    painter.text(pos2(paper.left(), paper.bottom() + 2.0), Align2::LEFT_TOP, "mbar", regular(11.5), t.second_ink);
    pen(&preview.sound, preview, paper, &y, t.accent, false, ui);
    pen(&preview.wrong, preview, paper, &y, t.second_pen, true, ui);
    // the pens by word, line style and colour
    let mut right = paper.right();
    for (words, colour, dashed) in
        [(said("preview-this"), t.second_pen, true), (said("preview-sound-vehicle"), t.accent, false)]
    {
        let galley = painter.layout_no_wrap(words.to_owned(), regular(12.0), t.ink);
        right -= galley.size().x;
        let middle = paper.bottom() + 10.0;
        painter.galley(pos2(right, middle - galley.size().y / 2.0), galley, t.ink);
        let stroke = Stroke::new(2.0, colour);
        let ends = [pos2(right - 30.0, middle), pos2(right - 4.0, middle)];
        if dashed {
            painter.extend(Shape::dashed_line(&ends, stroke, 6.0, 4.0));
        } else {
            painter.line_segment(ends, stroke);
        }
        right -= 46.0;
    }
}

/// Place of a time: fast paper while the engine runs, slow paper afterwards.
fn across(preview: &Preview, at: Micros, paper: egui::Rect) -> f32 {
    let (begins, stops, ends) = preview.times;
    let share = |from: Micros, to: Micros| {
        let span = (to.saturating_sub(from)).max(SECOND) as f32;
        (at.saturating_sub(from) as f32 / span).clamp(0.0, 1.0)
    };
    let stops = (stops + 15 * SECOND).min(ends);
    let fast = paper.width() * RUNNING;
    paper.left()
        + share(begins, stops) * fast
        + if at > stops { share(stops, ends) * (paper.width() - fast) } else { 0.0 }
}

/// A pen: of each column of a pixel the lowest and the highest.
fn pen(
    trace: &Trace,
    preview: &Preview,
    paper: egui::Rect,
    y: &dyn Fn(f64) -> f32,
    colour: Color32,
    dashed: bool,
    ui: &Ui,
) {
    let mut points: Vec<egui::Pos2> = vec![];
    let mut column: Option<(f32, f64, f64)> = None;
    let flush = |c: Option<(f32, f64, f64)>, points: &mut Vec<egui::Pos2>| {
        if let Some((x, low, high)) = c {
            points.push(pos2(x, y(high)));
            if (y(high) - y(low)).abs() > 1.0 {
                points.push(pos2(x, y(low)));
            }
        }
    };
    for (at, v) in trace.at.iter().zip(&trace.mbar).filter(|(_, v)| v.is_finite()) {
        let x = across(preview, *at, paper).round();
        match &mut column {
            Some((c, low, high)) if *c == x => (*low, *high) = (low.min(*v), high.max(*v)),
            _ => {
                flush(column.take(), &mut points);
                column = Some((x, *v, *v));
            }
        }
    }
    flush(column, &mut points);
    let painter = ui.painter().with_clip_rect(paper.intersect(ui.clip_rect()));
    let stroke = Stroke::new(1.6, colour);
    if dashed {
        for dash in chart_draw::dashes(&points, paper.left(), &[6.0, 3.0]) {
            painter.add(Shape::line(dash, stroke));
        }
    } else {
        painter.add(Shape::line(points, stroke));
    }
}

fn table_ui(preview: &Preview, ui: &mut Ui) {
    ui.add_space(6.0);
    ui.label(heading(said("preview-title")));
    // what is said in the last column goes on below where it has no room
    let right = ui.max_rect().right();
    let last = |ui: &mut Ui, add: &dyn Fn(&mut Ui)| {
        let room = (right - ui.cursor().left()).max(90.0);
        ui.scope(|ui| {
            ui.set_max_width(room);
            ui.horizontal_wrapped(|ui| {
                ui.spacing_mut().item_spacing.x = 4.0;
                add(ui);
            });
        });
    };
    Grid::new("preview rows").num_columns(6).spacing([14.0, 3.0]).min_row_height(20.0).show(ui, |ui| {
        ui.spacing_mut().interact_size.y = 18.0;
        for words in [
            said("state"),
            said("preview-sound"),
            said("preview-this"),
            said("preview-card"),
            said("preview-glass-column"),
        ] {
            ui.label(quiet(ui, words));
        }
        last(ui, &|ui| {
            ui.label(quiet(ui, said("preview-seen")));
        });
        ui.end_row();
        for row in &preview.rows {
            let state = ui.label(named(row.state));
            state.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, row_words(row)));
            let figure = |v: f64| RichText::new(format!("{:>6}", number(v, 0))).font(figures(13.0));
            ui.label(figure(row.sound.mbar));
            ui.label(figure(row.wrong.mbar));
            let limit = row.limit.map_or(String::new(), |(low, high)| range(low, high));
            ui.label(RichText::new(limit).font(figures(12.5)).color(tokens(ui).second_ink));
            ui.label(named(row.wrong.glass));
            last(ui, &|ui| {
                if row.is_outside() {
                    widgets::mark_ui(widgets::Mark::Caution, ui);
                }
                let engine = if row.wrong.engine == row.sound.engine { "" } else { row.wrong.engine };
                let more = if engine.is_empty() { String::new() } else { tell!("preview-engine", engine = engine) };
                ui.label(format!("{}{more}", verdict(row)));
            });
            ui.end_row();
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::authoring::preview::Shown;

    fn shown(mbar: f64, glass: &'static str, engine: &'static str) -> Shown {
        Shown { mbar, between: (mbar, mbar), glass, engine }
    }

    fn preview(rows: Vec<Row>) -> Preview {
        Preview {
            joint: "pump inlet".to_owned(),
            words: "F15".to_owned(),
            rows,
            sound: Trace::default(),
            wrong: Trace::default(),
            times: (0, SECOND, 2 * SECOND),
            is_at_times: false,
            silent: false,
        }
    }

    #[test]
    fn what_each_state_reads_is_told_in_words() {
        let limit = Some((-150.0, -40.0));
        let rows = vec![
            Row {
                state: "rest",
                limit: None,
                sound: shown(-5.0, "clear", "off"),
                wrong: shown(-4.0, "clear", "off"),
            },
            Row {
                state: "idle",
                limit,
                sound: shown(-72.4, "clear", "steady"),
                wrong: shown(-171.6, "mist", "steady"),
            },
            Row {
                state: "raised",
                limit,
                sound: shown(-90.0, "clear", "steady"),
                wrong: shown(-120.0, "clear", "uneven"),
            },
        ];
        let preview = preview(rows);
        let words: Vec<String> = preview.rows.iter().map(row_words).collect();
        assert_eq!(
            words,
            [
                "rest: \u{2212}4 mbar, sound \u{2212}5; card says nothing; glass clear; engine off; nothing to see",
                "idle: \u{2212}172 mbar, sound \u{2212}72; card \u{2212}150 … \u{2212}40; glass mist, sound clear; engine \
                 steady; outside the card",
                "raised: \u{2212}120 mbar, sound \u{2212}90; card \u{2212}150 … \u{2212}40; glass clear; engine uneven; \
                 differs, but within",
            ]
        );
        assert_eq!(summary(&preview), "With the tee at the pump inlet, it shows in: idle, raised.");
    }

    #[test]
    fn a_fault_that_shows_nothing_is_told_so() {
        let row = Row {
            state: "rest",
            limit: None,
            sound: shown(0.0, "clear", "off"),
            wrong: shown(3.0, "clear", "off"),
        };
        assert!(summary(&preview(vec![row.clone()])).contains("no state shows anything"));
        let silent = Preview { silent: true, ..preview(vec![row.clone()]) };
        assert!(summary(&silent).contains("in any test"), "{}", summary(&silent));
        let sound = Preview { words: "nothing wrong".to_owned(), ..preview(vec![row]) };
        assert!(summary(&sound).contains("Nothing is wrong"));
    }

    #[test]
    fn the_hold_goes_on_slower_paper() {
        let paper = egui::Rect::from_min_max(pos2(0.0, 0.0), pos2(100.0, 50.0));
        let preview = Preview { times: (0, 85 * SECOND, 400 * SECOND), ..preview(vec![]) };
        let x = |s: Micros| across(&preview, s * SECOND, paper);
        assert_eq!((x(0), x(100), x(400)), (0.0, 70.0, 100.0));
        assert!((x(50) - 35.0).abs() < 0.01 && (x(250) - 85.0).abs() < 0.01);
    }
}
