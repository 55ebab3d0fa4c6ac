//! The few controls of the window, each with a text label, a keyboard and a visible focus.

use bevy_egui::egui::{
    self, Align2, Button, Color32, CornerRadius, EventFilter, Key, Painter, Pos2, Rect, Response, RichText, Sense,
    Shape, Stroke, StrokeKind, Ui, Vec2, WidgetInfo, WidgetType, pos2, vec2,
};

use super::theme::{RADIUS, TARGET, regular, semibold, tokens};
use super::tokens::Tokens;
use crate::bay::action::Verdict;
use crate::language::named;
use crate::tell;

/// Height of a line of controls over a sheet.
pub const HEADER: f32 = 32.0;

/// Draws a sheet of paper.
pub fn sheet(ui: &Ui, rect: Rect) {
    let t = tokens(ui);
    ui.painter().rect(rect, RADIUS, t.sheet, Stroke::new(1.0, t.rule), StrokeKind::Inside);
}

/// A ring of 2 px round what has the focus of the keyboard.
pub fn focus_ring(ui: &Ui, response: &Response, rect: Rect) {
    if response.has_focus() {
        let t = tokens(ui);
        ui.painter().rect_stroke(rect.expand(2.0), RADIUS + 2, Stroke::new(2.0, t.accent), StrokeKind::Outside);
    }
}

/// How much a button asks for attention.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// The next thing to do.
    Primary,
    /// One of several.
    Plain,
}

/// A button with a text. `name` is what a screen reader says when the text alone isn't enough; `why`
/// tells why it is disabled.
pub fn button(ui: &mut Ui, weight: Weight, text: &str, name: &str, enabled: bool, why: &str) -> Response {
    let t = tokens(ui);
    let shown = match weight {
        Weight::Primary if enabled => RichText::new(text).font(semibold(14.0)).color(t.on_accent),
        _ => RichText::new(text).font(regular(14.0)).color(ink(t, enabled)),
    };
    let mut button = Button::new(shown).min_size(vec2(0.0, TARGET)).wrap_mode(egui::TextWrapMode::Extend);
    if weight == Weight::Primary && enabled {
        button = button.fill(t.accent).stroke(Stroke::new(1.0, t.accent));
    }
    finish(ui, button, text, name, enabled, why)
}

/// What can't be pressed steps back.
fn ink(t: &Tokens, enabled: bool) -> Color32 {
    if enabled { t.ink } else { t.second_ink }
}

/// A button with small text, still 32 px high.
pub fn small_button(ui: &mut Ui, text: &str, name: &str, enabled: bool, why: &str) -> Response {
    let shown = RichText::new(text).font(regular(12.5)).color(ink(tokens(ui), enabled));
    finish(ui, Button::new(shown).min_size(vec2(0.0, TARGET)), text, name, enabled, why)
}

/// A button of small text that is framed only while it is pointed at: for what stands at an edge and is seldom wanted.
pub fn quiet_button(ui: &mut Ui, text: &str, name: &str, enabled: bool, why: &str) -> Response {
    let shown = RichText::new(text).font(regular(12.5)).color(tokens(ui).second_ink);
    let button = Button::new(shown).min_size(vec2(0.0, TARGET)).frame_when_inactive(false);
    finish(ui, button, text, name, enabled, why)
}

/// Where a page begins, for the ring of the keyboard: see [`begin_page_in`].
pub fn page_start() -> egui::Id {
    egui::Id::new("where the page begins")
}

/// The beginning of a page as a place for the ring, when it is `wanted` there: whoever turned to the page by a key goes on
/// from here with Tab. It is no stop of its own.
pub fn begin_page_in(ui: &Ui, page: Rect, title: &str, wanted: bool) {
    let id = page_start();
    if wanted {
        ui.memory_mut(|m| m.request_focus(id));
    } else if !ui.memory(|m| m.has_focus(id)) {
        return;
    }
    let top = page.with_max_y(page.top() + 2.0);
    let response = ui.interact(top, id, Sense::focusable_noninteractive());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Panel, true, tell!("widget-page", page = title)));
    ui.painter().hline(top.x_range(), top.top() - 2.0, Stroke::new(2.0, tokens(ui).accent));
}

/// Width of small buttons with these words side by side, points.
pub fn small_buttons_width<'a>(ui: &Ui, words: impl IntoIterator<Item = &'a str>) -> f32 {
    let padding = 2.0 * ui.spacing().button_padding.x + ui.spacing().item_spacing.x;
    words.into_iter().map(|w| widest(ui, [w], &regular(12.5)) + padding).sum()
}

/// Controls at the right end of a line, drawn from the left, so that the keyboard reaches them in the order in which they
/// are seen. `width` is what they are reckoned to need; what they took in the frame before is known better.
pub fn at_right(ui: &mut Ui, width: f32, add: impl FnOnce(&mut Ui)) {
    let id = ui.id().with(("at right", width.to_bits()));
    let took = ui.data(|data| data.get_temp::<f32>(id));
    let size = vec2(took.unwrap_or(width.ceil()), ui.available_height());
    let layout = egui::Layout::left_to_right(egui::Align::Center);
    let takes = ui.allocate_ui_with_layout(size, layout, |ui| {
        add(ui);
        ui.min_rect().width()
    });
    if took.is_none_or(|took| (took - takes.inner).abs() > 0.5) {
        ui.data_mut(|data| data.insert_temp(id, takes.inner));
        ui.ctx().request_repaint();
    }
}

/// One of the entries of a list that was opened, and whether it was picked; the list closes then, by a key as well.
pub fn entry(ui: &mut Ui, on: bool, words: &str) -> bool {
    let picked = ui.selectable_label(on, words).clicked();
    if picked {
        ui.close();
        if ui.input(|i| i.key_pressed(Key::Enter) || i.key_pressed(Key::Space)) {
            ui.data_mut(|data| data.insert_temp(picked_by_key(), true));
        }
    }
    picked
}

/// The same for what is picked.
pub fn option<T: PartialEq>(ui: &mut Ui, picked: &mut T, value: T, words: &str) {
    if entry(ui, *picked == value, words) {
        *picked = value;
    }
}

fn picked_by_key() -> egui::Id {
    egui::Id::new("picked in a list by a key")
}

/// What a screen reader calls a list that can be opened, after its entries were drawn: the ring of whoever picked one by a key
/// comes back to it.
pub fn list_named(list: &Response, name: &str) {
    list.widget_info(|| WidgetInfo::labeled(WidgetType::ComboBox, true, name));
    if list.ctx.data_mut(|data| data.remove_temp::<bool>(picked_by_key())).is_some() {
        list.request_focus();
    }
}

/// A button of a given width with its text in the middle.
pub fn wide_button(ui: &mut Ui, width: f32, text: &str, name: &str, enabled: bool, why: &str) -> Response {
    cell_button(ui, width, text, Align2::CENTER_CENTER, name, enabled, why)
}

/// A button of a given width whose text begins at its left edge.
pub fn row_button(ui: &mut Ui, width: f32, text: &str, name: &str, enabled: bool, why: &str) -> Response {
    cell_button(ui, width, text, Align2::LEFT_CENTER, name, enabled, why)
}

fn cell_button(
    ui: &mut Ui,
    width: f32,
    text: &str,
    align: Align2,
    name: &str,
    enabled: bool,
    why: &str,
) -> Response {
    let t = tokens(ui);
    let on = enabled && ui.is_enabled();
    let colour = if on { t.ink } else { t.second_ink };
    let beside = if align == Align2::LEFT_CENTER { 10.0 } else { 4.0 };
    // words that are wider go on in a second row
    let galley = ui.painter().layout(text.to_owned(), regular(13.5), colour, (width - 2.0 * beside).max(24.0));
    let high = TARGET.max(galley.size().y + 12.0);
    let (rect, response) =
        ui.allocate_exact_size(vec2(width, high), if on { Sense::click() } else { Sense::hover() });
    let said = spoken(text, name, enabled, why);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, on, &said));
    let painter = ui.painter();
    let edge = if on && response.hovered() { t.ink } else { t.faint };
    let fill = if !on || response.hovered() { t.ground } else { t.sheet };
    painter.rect(rect, RADIUS, fill, Stroke::new(1.0, edge), StrokeKind::Inside);
    let inner = rect.shrink2(vec2(beside, 0.0));
    let at = align.align_size_within_rect(galley.size(), inner).min;
    painter.with_clip_rect(inner.intersect(ui.clip_rect())).galley(at, galley, colour);
    focus_ring(ui, &response, rect);
    if enabled || why.is_empty() { response } else { response.on_hover_text(why) }
}

/// What a screen reader says of a button.
fn spoken(text: &str, name: &str, enabled: bool, why: &str) -> String {
    let name = if name.is_empty() { text } else { name };
    if enabled || why.is_empty() { name.to_owned() } else { tell!("widget-not-now", name = name, why = why) }
}

fn finish(ui: &mut Ui, button: Button<'_>, text: &str, name: &str, enabled: bool, why: &str) -> Response {
    let t = tokens(ui);
    let button = if enabled { button } else { button.fill(t.ground).stroke(Stroke::new(1.0, t.rule)) };
    let response = ui.add_enabled(enabled, button);
    let said = spoken(text, name, enabled, why);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, enabled, &said));
    focus_ring(ui, &response, response.rect);
    if enabled || why.is_empty() { response } else { response.on_disabled_hover_text(why) }
}

/// How many cells of `widest` text, with `beside` room for a sign and the edges, go into one row of `width`; at least one.
/// Rows are filled evenly: five of which four would fit stand as three and two.
pub fn columns(width: f32, count: usize, widest: f32, beside: f32, gap: f32) -> usize {
    let count = count.max(1);
    let fit = (((width + gap) / (widest + beside + gap)).floor() as usize).clamp(1, count);
    count.div_ceil(count.div_ceil(fit))
}

/// Lines longer than this are hard to read, points.
pub const LONGEST_LINES: f32 = 720.0;

/// A page that is scrolled: the bar stands at the edge of the paper, the lines end where they are still read with ease.
pub fn scrolled(ui: &mut Ui, id: &str, high: f32, add: impl FnOnce(&mut Ui)) {
    let area = egui::ScrollArea::vertical().id_salt(id).max_height(high).auto_shrink([false, false]);
    let shown = area.show(ui, |ui| {
        ui.set_max_width(ui.available_width().min(LONGEST_LINES));
        add(ui);
    });
    edges(&shown, ui);
}

/// A rule where a page goes on above or below what is seen of it.
pub fn edges<R>(shown: &egui::scroll_area::ScrollAreaOutput<R>, ui: &Ui) {
    let seen = shown.inner_rect;
    let rule = Stroke::new(1.0, tokens(ui).faint);
    if shown.state.offset.y > 1.0 {
        ui.painter().hline(seen.x_range(), seen.top(), rule);
    }
    if shown.content_size.y - shown.state.offset.y > seen.height() + 1.0 {
        ui.painter().hline(seen.x_range(), seen.bottom(), rule);
    }
}

/// Width of the widest of these words in a font, points.
pub fn widest<'a>(ui: &Ui, words: impl IntoIterator<Item = &'a str>, font: &egui::FontId) -> f32 {
    let wide = |w: &str| ui.painter().layout_no_wrap(w.to_owned(), font.clone(), Color32::BLACK).size().x;
    words.into_iter().map(wide).fold(0.0, f32::max)
}

/// One of several choices as cells of a form, in as many rows as their words need. Returns the index that was chosen.
pub fn choice(ui: &mut Ui, width: f32, group: &str, labels: &[&str], chosen: Option<usize>) -> Option<usize> {
    let gap = 4.0;
    let columns = columns(width, labels.len(), widest(ui, labels.iter().copied(), &semibold(13.0)), 8.0, gap);
    let cell = (width - gap * (columns as f32 - 1.0)) / columns as f32;
    let mut picked = None;
    for (row, part) in labels.chunks(columns).enumerate() {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = gap;
            for (k, label) in part.iter().enumerate() {
                let i = row * columns + k;
                let on = chosen == Some(i);
                let name = format!("{group}: {label}");
                if pressed_cell(ui, vec2(cell, TARGET), label, (WidgetType::RadioButton, &name), on) {
                    picked = Some(i);
                }
            }
        });
    }
    picked
}

/// A cell that is pressed in or out, such as a number of a line.
pub fn toggle_cell(ui: &mut Ui, label: &str, name: &str, on: bool) -> bool {
    pressed_cell(ui, Vec2::splat(TARGET), label, (WidgetType::Checkbox, name), on)
}

/// A cell with its words, pressed in or not, and what it is to who doesn't see it.
fn pressed_cell(ui: &mut Ui, size: Vec2, label: &str, (role, name): (WidgetType, &str), on: bool) -> bool {
    let t = tokens(ui);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    response.widget_info(|| WidgetInfo::selected(role, ui.is_enabled(), on, name));
    cell_background(ui, &response, rect, on);
    let font = if on { semibold(13.0) } else { regular(13.0) };
    ui.painter().text(rect.center(), Align2::CENTER_CENTER, label, font, if on { t.ink } else { t.second_ink });
    if on {
        // a second sign beside the colour
        ui.painter().hline(rect.x_range().shrink(6.0), rect.bottom() - 2.0, Stroke::new(2.0, t.accent));
    }
    focus_ring(ui, &response, rect);
    response.clicked()
}

/// The box of a row that can be ticked.
pub fn tick_box(ui: &Ui, at: Pos2, on: bool, hovered: bool) {
    let t = tokens(ui);
    let field = Rect::from_center_size(at, Vec2::splat(18.0));
    let edge = if hovered { t.ink } else { t.faint };
    ui.painter().rect(field, RADIUS, t.sheet, Stroke::new(1.0, edge), StrokeKind::Inside);
    if on {
        let points = vec![at + vec2(-4.5, 0.0), at + vec2(-1.5, 3.5), at + vec2(4.5, -3.5)];
        ui.painter().add(Shape::line(points, Stroke::new(1.5, t.ink)));
    }
}

/// Ground of a pressable cell.
pub fn cell_background(ui: &Ui, response: &Response, rect: Rect, on: bool) {
    let t = tokens(ui);
    let fill = if on {
        t.highlight
    } else if response.hovered() {
        t.ground
    } else {
        t.sheet
    };
    let edge = if response.hovered() { t.ink } else { t.faint };
    ui.painter().rect(rect, RADIUS, fill, Stroke::new(1.0, edge), StrokeKind::Inside);
}

/// The four verdicts with their signs.
pub fn verdict_choice(ui: &mut Ui, width: f32, chosen: Option<Verdict>) -> Option<Verdict> {
    let t = tokens(ui);
    let gap = 4.0;
    let wide = widest(ui, Verdict::ALL.map(Verdict::words), &semibold(13.0));
    let columns = columns(width, Verdict::ALL.len(), wide, 33.0, gap);
    let cell = (width - gap * (columns as f32 - 1.0)) / columns as f32;
    let mut picked = None;
    for part in Verdict::ALL.chunks(columns) {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = gap;
            for &verdict in part {
                let on = chosen == Some(verdict);
                let (rect, response) = ui.allocate_exact_size(vec2(cell, TARGET), Sense::click());
                response.widget_info(|| {
                    let label = tell!("widget-verdict", verdict = verdict.words());
                    WidgetInfo::selected(WidgetType::RadioButton, ui.is_enabled(), on, label)
                });
                cell_background(ui, &response, rect, on);
                let colour = verdict_colour(verdict, t);
                verdict_sign(ui.painter(), rect.left_center() + vec2(15.0, 0.0), verdict, colour);
                let font = if on { semibold(13.0) } else { regular(13.0) };
                let at = rect.left_center() + vec2(27.0, 0.0);
                ui.painter().text(at, Align2::LEFT_CENTER, named(verdict.words()), font, colour);
                focus_ring(ui, &response, rect);
                if response.clicked() {
                    picked = Some(verdict);
                }
            }
        });
    }
    picked
}

/// A sheet over everything else, with the margin of a page.
pub fn sheet_over_all(ui: &Ui, name: &str) -> egui::Modal {
    let frame = egui::Frame::popup(ui.style()).inner_margin(ui.style().spacing.window_margin);
    egui::Modal::new(egui::Id::new(name)).frame(frame)
}

/// A sheet over everything else, no wider and no higher than the window; what is higher is scrolled. Gives what `add`
/// gives, and whether somebody wants it away.
pub fn over_all<R>(ui: &Ui, name: &str, width: f32, add: impl FnOnce(&mut Ui) -> R) -> (R, bool) {
    let window = ui.ctx().content_rect();
    let modal = sheet_over_all(ui, name).show(ui.ctx(), |ui| {
        ui.set_width(width.min(window.width() - 56.0));
        let high = (window.height() - 56.0).max(120.0);
        // else an area begins with a height of its own
        ui.set_max_height(high);
        let shown = egui::ScrollArea::vertical().id_salt(name).max_height(high).show(ui, add);
        edges(&shown, ui);
        shown.inner
    });
    let away = modal.should_close();
    (modal.inner, away)
}

/// Colour of a verdict; its sign says the same.
pub fn verdict_colour(verdict: Verdict, t: &Tokens) -> Color32 {
    match verdict {
        Verdict::Within => t.accent,
        Verdict::Outside | Verdict::NotProven => t.caution,
        Verdict::Invalid => t.critical,
    }
}

/// Disc, triangle, half disc, cross.
pub fn verdict_sign(painter: &Painter, at: Pos2, verdict: Verdict, colour: Color32) {
    match verdict {
        Verdict::Within => {
            painter.circle_filled(at, 5.0, colour);
        }
        Verdict::Outside => triangle(painter, at, 6.0, colour, Stroke::NONE),
        Verdict::NotProven => {
            painter.circle_stroke(at, 4.5, Stroke::new(1.5, colour));
            let half: Vec<Pos2> = (0..=12)
                .map(|i| {
                    let a = std::f32::consts::PI * (0.5 + i as f32 / 12.0);
                    at + 4.5 * vec2(a.cos(), a.sin())
                })
                .collect();
            painter.add(Shape::convex_polygon(half, colour, Stroke::NONE));
        }
        Verdict::Invalid => cross(painter, at, 4.5, Stroke::new(2.0, colour)),
    }
}

fn triangle(painter: &Painter, at: Pos2, r: f32, fill: Color32, stroke: Stroke) {
    let points = vec![at + vec2(0.0, -r), at + vec2(r, r * 0.8), at + vec2(-r, r * 0.8)];
    painter.add(Shape::convex_polygon(points, fill, stroke));
}

fn cross(painter: &Painter, at: Pos2, r: f32, stroke: Stroke) {
    painter.line_segment([at + vec2(-r, -r), at + vec2(r, r)], stroke);
    painter.line_segment([at + vec2(-r, r), at + vec2(r, -r)], stroke);
}

/// A sign before a message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// Triangle with a stroke.
    Caution,
    /// Cross.
    Cross,
    /// Bar in a ring: not done.
    Stop,
    /// Tick: done.
    Tick,
}

/// Draws a sign.
pub fn mark(painter: &Painter, at: Pos2, mark: Mark, t: &Tokens) {
    match mark {
        Mark::Caution => {
            triangle(painter, at, 7.0, Color32::TRANSPARENT, Stroke::new(1.5, t.caution));
            painter.line_segment([at + vec2(0.0, -2.5), at + vec2(0.0, 1.5)], Stroke::new(1.5, t.caution));
            painter.circle_filled(at + vec2(0.0, 3.6), 0.9, t.caution);
        }
        Mark::Cross => cross(painter, at, 5.0, Stroke::new(2.0, t.critical)),
        Mark::Stop => {
            painter.circle_stroke(at, 6.0, Stroke::new(1.5, t.ink));
            painter.line_segment([at + vec2(-3.0, 0.0), at + vec2(3.0, 0.0)], Stroke::new(2.0, t.ink));
        }
        Mark::Tick => {
            let points = vec![at + vec2(-5.0, 0.0), at + vec2(-1.5, 4.0), at + vec2(5.0, -4.0)];
            painter.add(Shape::line(points, Stroke::new(2.0, t.accent)));
        }
    }
}

/// A sign in the flow of a line.
pub fn mark_ui(sign: Mark, ui: &mut Ui) {
    let (rect, _) = ui.allocate_exact_size(vec2(16.0, 16.0), Sense::hover());
    mark(ui.painter(), rect.center(), sign, tokens(ui));
}

/// A value on a rail.
pub struct Rail<'a> {
    /// What a screen reader calls it.
    pub name: &'a str,
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
    /// Step of the arrow keys; ten of them with the shift key.
    pub step: f64,
    /// A dashed tick: the value before.
    pub before: Option<f64>,
    /// Width.
    pub width: f32,
}

/// Draws the rail and moves `value`; `changed` on the response tells of a move, `drag_stopped` and
/// keys of the end of one.
pub fn rail(ui: &mut Ui, value: &mut f64, rail: &Rail<'_>) -> Response {
    let t = tokens(ui);
    let (rect, mut response) = ui.allocate_exact_size(vec2(rail.width, TARGET), Sense::click_and_drag());
    let track = Rect::from_center_size(rect.center(), vec2(rect.width() - 18.0, 5.0));
    let span = rail.high - rail.low;
    let old = *value;
    if (response.dragged() || response.clicked())
        && let Some(at) = response.interact_pointer_pos()
    {
        let share = f64::from((at.x - track.left()) / track.width()).clamp(0.0, 1.0);
        *value = rail.low + ((share * span) / rail.step).round() * rail.step;
    }
    if response.has_focus() {
        let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
        ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
        *value += rail.step * arrow_steps(ui);
    }
    ui.input(|i| {
        use egui::accesskit::Action;
        let up = i.num_accesskit_action_requests(response.id, Action::Increment);
        let down = i.num_accesskit_action_requests(response.id, Action::Decrement);
        *value += rail.step * (up as f64 - down as f64);
    });
    // a value that came from elsewhere stays as it is until it is moved
    if *value != old {
        *value = value.clamp(rail.low, rail.high);
    }
    if *value != old {
        response.mark_changed();
    }
    response.widget_info(|| WidgetInfo::slider(ui.is_enabled(), *value, rail.name));
    let x_of = |v: f64| track.left() + track.width() * ((v - rail.low) / span).clamp(0.0, 1.0) as f32;
    let painter = ui.painter();
    painter.rect_filled(track, 2.5, t.rule);
    let mut filled = track;
    filled.set_right(x_of(*value));
    painter.rect_filled(filled, 2.5, if ui.is_enabled() { t.accent } else { t.faint });
    if let Some(before) = rail.before {
        let x = x_of(before);
        let points = [pos2(x, rect.center().y - 12.0), pos2(x, rect.center().y + 12.0)];
        painter.extend(Shape::dashed_line(&points, Stroke::new(1.5, t.second_ink), 3.0, 2.0));
    }
    let knob = pos2(x_of(*value), rect.center().y);
    let edge = if response.hovered() || response.dragged() { t.accent } else { t.ink };
    painter.circle(knob, 8.0, t.sheet, Stroke::new(1.5, edge));
    focus_ring(ui, &response, rect.shrink2(vec2(0.0, 4.0)));
    response
}

/// Steps asked for by the left and right arrows (ten each with shift).
pub fn arrow_steps(ui: &Ui) -> f64 {
    ui.input(|i| {
        let steps = i.num_presses(Key::ArrowRight) as f64 - i.num_presses(Key::ArrowLeft) as f64;
        if i.modifiers.shift { steps * 10.0 } else { steps }
    })
}

/// An index tab: a trapezium that stands on the sheet.
pub fn index_tab(ui: &mut Ui, rect: Rect, title: &str, on: bool) -> Response {
    let t = tokens(ui);
    let id = ui.id().with(("tab", title));
    let response = ui.interact(rect, id, Sense::click());
    response.widget_info(|| WidgetInfo::selected(WidgetType::SelectableLabel, true, on, title));
    let slant = 7.0;
    let outline = vec![
        rect.left_bottom(),
        rect.left_top() + vec2(slant, 2.0),
        rect.left_top() + vec2(slant + 2.0, 0.0),
        rect.right_top() + vec2(-slant - 2.0, 0.0),
        rect.right_top() + vec2(-slant, 2.0),
        rect.right_bottom(),
    ];
    let fill = if on {
        t.sheet
    } else if response.hovered() {
        t.highlight
    } else {
        t.ground
    };
    let painter = ui.painter();
    painter.add(Shape::convex_polygon(outline.clone(), fill, Stroke::NONE));
    painter.add(Shape::line(outline, Stroke::new(1.0, t.rule)));
    if on {
        painter.hline(rect.x_range().shrink(1.0), rect.bottom(), Stroke::new(2.0, t.sheet));
    }
    let font = if on { semibold(13.5) } else { regular(13.5) };
    painter.text(rect.center(), Align2::CENTER_CENTER, title, font, if on { t.ink } else { t.second_ink });
    focus_ring(ui, &response, rect.shrink(4.0));
    response
}

/// A frame with a triangle and the words of a caution. Returns its width.
pub fn caution_chip(ui: &mut Ui, words: &str) -> Response {
    let t = tokens(ui);
    let galley =
        ui.painter().layout(words.to_owned(), regular(12.5), t.caution, (ui.available_width() - 40.0).max(80.0));
    // two rows still fit under the drawing
    let size = Vec2::new(galley.size().x + 38.0, galley.size().y + if galley.rows.len() > 1 { 4.0 } else { 9.0 });
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, tell!("widget-caution", words = words)));
    let painter = ui.painter();
    painter.rect(rect, CornerRadius::same(RADIUS), t.sheet, Stroke::new(1.2, t.caution), StrokeKind::Inside);
    mark(painter, rect.left_center() + vec2(16.0, 0.5), Mark::Caution, t);
    painter.galley(pos2(rect.left() + 30.0, rect.center().y - galley.size().y / 2.0), galley, t.caution);
    response
}

/// A bar for work under way; `aloud` is what a screen reader says of it.
pub fn progress(ui: &mut Ui, share: f32, aloud: &str) -> Response {
    let t = tokens(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 12.0), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::ProgressIndicator, true, aloud));
    let track = rect.shrink2(vec2(0.0, 2.0));
    ui.painter().rect_filled(track, 2, t.rule);
    let done = track.with_max_x(track.left() + track.width() * share.clamp(0.0, 1.0));
    ui.painter().rect_filled(done, 2, t.accent);
    response
}

/// Slow work under way: what it is, how far it is, and a button that leaves it; gives whether that was pressed.
pub fn working_ui(ui: &mut Ui, words: &str, share: f32, leave: &str, name: &str) -> bool {
    ui.label(words);
    let aloud = tell!("awaited-share", share = format!("{:.0}", share * 100.0));
    progress(ui, share, &aloud);
    ui.horizontal(|ui| {
        let left = button(ui, Weight::Plain, leave, name, true, "").clicked();
        ui.label(super::theme::quiet(ui, aloud));
        left
    })
    .inner
}

/// One of several, behind a dash; its further rows go on under the first.
pub fn listed_ui(words: &str, ui: &mut Ui) {
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = 6.0;
        ui.label(RichText::new("–").font(regular(13.5)));
        ui.vertical(|ui| ui.label(RichText::new(words).font(regular(13.5))));
    });
}

/// A field of text that fills a width and a label that names it.
pub fn text_field(ui: &mut Ui, text: &mut String, name: &str, hint: &str, width: f32) -> Response {
    let edit = egui::TextEdit::singleline(text)
        .hint_text(hint.to_owned())
        .desired_width(width)
        .margin(egui::Margin::symmetric(8, 7))
        .min_size(vec2(0.0, TARGET));
    let label = ui.label(RichText::new(name).font(regular(12.5)).color(tokens(ui).second_ink));
    let response = ui.add(edit);
    response.labelled_by(label.id)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Looking at a file with a number that its rail doesn't reach is no change of it.
    #[test]
    fn a_value_off_its_rail_stays_until_it_is_moved() {
        let ctx = egui::Context::default();
        let mut value = 62.0;
        let mut changed = false;
        let _ = ctx.run_ui(egui::RawInput::default(), |ui| {
            let share = Rail { name: "gauge", low: 0.0, high: 1.0, step: 0.01, before: None, width: 120.0 };
            changed |= rail(ui, &mut value, &share).changed();
        });
        assert_eq!((value, changed), (62.0, false));
    }
}
