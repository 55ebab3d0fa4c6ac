//! The projector view: the sitting as a class may see it.

use bevy_egui::egui::{Rect, Stroke, Ui, pos2, vec2};

use super::pages::{chart_ui, frozen_ui, index_tabs, inside, over_all_ui, place_ui};
use super::teaching::teaching_ui;
use crate::app::bridge::Intent;
use crate::app::plan::{TABS, View, Way};
use crate::app::session::Session;
use crate::app::stage;
use crate::app::state::{PanelState, Tab};
use crate::app::theme::tokens;
use crate::app::top_line::{self, Out, TopLine};
use crate::app::{messages, widgets};
use crate::bay::observation::Observation;

/// Below this height drawing and chart are seen in turns, points.
const BOTH: f32 = 400.0;

/// What a class may see, large: the place, the glass, the chart, what was said. No sheet, no points, no finding and no
/// mark, which are the learner's own until whoever teaches turns back to them. Gives where the chart is.
pub(super) fn projector_ui(
    session: &dyn Session,
    state: &mut PanelState,
    seen: &Observation,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) -> Option<Rect> {
    let window = ui.max_rect();
    let t = tokens(ui);
    stage::ground(ui, window, t.ground);
    let top = window.with_max_y(window.top() + 40.0);
    ui.painter().hline(window.x_range(), top.bottom(), Stroke::new(1.0, t.rule));
    let mut line = TopLine::of(session.job(), seen, session.now(), true);
    line.out = Out::Desk;
    inside(ui, top, "top", |ui| top_line::top_line_ui(&line, state.dark, ui, intents));
    let body = Rect::from_min_max(pos2(window.left() + 8.0, top.bottom() + 4.0), window.max - vec2(8.0, 8.0));
    let high = messages::line_height(&state.messages, body.width() - 20.0, false, ui);
    let said = body.with_min_y(body.bottom() - high);
    let work = body.with_max_y(said.top() - 8.0);
    let (scene, chart) = if work.height() >= BOTH {
        let middle = work.top() + work.height() * 0.55;
        (Some(work.with_max_y(middle)), Some(work.with_min_y(middle + 8.0)))
    } else {
        let tabs = work.with_max_y(work.top() + TABS);
        let titles = View::ALL.map(|view| view.title(false));
        if let Some(i) = index_tabs(ui, tabs, &titles, |i| View::ALL[i] == state.view) {
            intents.push(Intent::See(View::ALL[i]));
        }
        let page = work.with_min_y(tabs.bottom());
        let seen = |view| (state.view == view).then_some(page);
        (seen(View::Place), seen(View::Chart))
    };
    // the mark isn't shown here
    let tab = std::mem::replace(&mut state.tab, Tab::Card);
    if let Some(scene) = scene {
        place_ui(session, state, seen, scene, Way::Whole, ui, intents);
    }
    if let Some(chart) = chart {
        chart_ui(session, state, seen, chart, ui, intents);
    }
    state.tab = tab;
    widgets::sheet(ui, said);
    inside(ui, said.shrink2(vec2(10.0, 2.0)), "line", |ui| {
        messages::message_line_ui(&mut state.messages, None, ui, intents);
    });
    // what can be done at a part is asked for in the whole view
    intents.retain(|i| !matches!(i, Intent::Touch(_)));
    if state.messages.open {
        messages::history_ui(&state.messages, work, ui);
    }
    over_all_ui(session, state, seen, ui, intents);
    teaching_ui(session, state, ui, intents);
    frozen_ui(state, session.is_over(), ui, intents);
    chart
}
