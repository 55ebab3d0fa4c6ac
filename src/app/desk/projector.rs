//! The projector view: the sitting as a class may see it.

use bevy_egui::egui::{Rect, Stroke, Ui, pos2, vec2};

use super::{chart_ui, frozen_ui, inside, place_ui};
use crate::app::bridge::Intent;
use crate::app::session::Session;
use crate::app::stage;
use crate::app::state::{PanelState, Tab};
use crate::app::theme::tokens;
use crate::app::top_line::{self, TopLine};
use crate::app::{keys, messages, widgets};
use crate::bay::observation::Observation;

/// What a class may see, large: the place, the glass, the chart, what was said. No sheet, no points, no finding and no
/// mark, which are the learner's own until whoever teaches turns back to them.
pub(super) fn projector_ui(
    session: &dyn Session,
    state: &mut PanelState,
    seen: &Observation,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    let window = ui.max_rect();
    let t = tokens(ui);
    stage::ground(ui, window, t.ground);
    let top = window.with_max_y(window.top() + 40.0);
    ui.painter().hline(window.x_range(), top.bottom(), Stroke::new(1.0, t.rule));
    let line = TopLine::of(session.job(), seen, session.now(), true);
    inside(ui, top, "top", |ui| top_line::top_line_ui(&line, state.dark, ui, intents));
    let body = Rect::from_min_max(pos2(window.left() + 8.0, top.bottom() + 4.0), window.max - vec2(8.0, 8.0));
    let said = body.with_min_y(body.bottom() - 36.0);
    let work = body.with_max_y(said.top() - 8.0);
    let middle = work.top() + work.height() * 0.55;
    // the mark isn't shown here
    let tab = std::mem::replace(&mut state.tab, Tab::Card);
    place_ui(session, state, seen, work.with_max_y(middle), ui, intents);
    chart_ui(session, state, seen, work.with_min_y(middle + 8.0), ui, intents);
    state.tab = tab;
    widgets::sheet(ui, said);
    inside(ui, said.shrink2(vec2(10.0, 2.0)), "line", |ui| messages::message_line_ui(&mut state.messages, ui));
    // what can be done at a part is asked for in the whole view
    intents.retain(|i| !matches!(i, Intent::Touch(_)));
    if state.keys_open {
        keys::keys_ui(state.reduced_motion, ui, intents);
    }
    frozen_ui(state, session.is_over(), ui, intents);
}
