//! The editor's page: a line with what can be done, the sections and their form, a pane beside it, and what the check
//! says below, each line of which leads to its field.

use std::sync::Arc;

use bevy_egui::egui::{
    self, Align, Align2, Key, Layout, Modifiers, Rect, RichText, ScrollArea, Sense, Stroke, Ui, UiBuilder,
    WidgetInfo, WidgetType, pos2, vec2,
};

use super::fields::Form;
use super::place_words::place_words;
use super::start::kind_word;
use super::{Editor, Order, Pane, Question, Section};
use super::{
    asking, card, course, fairness, faults, limits, plant, preview, readings, rivals, supply, text, variants,
    vehicle,
};
use crate::app::theme::{bold_figures, heading, italic, quiet, regular, semibold, tokens};
use crate::app::widgets::{self, Mark, Weight};
use crate::authoring::draft::{Finding, Page, name_trouble};
use crate::language::{Msg, said};
use crate::msg;
use crate::scenario::Kind;
use crate::scenario::form::JobForm;
use crate::tell;

/// Below this width the form is one of the panes.
const NARROW: f32 = 1080.0;
/// Width of the list of sections, and of the form beside it.
const LIST: f32 = 176.0;
const FORM: f32 = 500.0;
/// Room for the button that opens those as a list which have no room, points.
const LIST_BUTTON: f32 = 84.0;
/// Room between two buttons on top, points.
const BETWEEN: f32 = 6.0;
/// Most height of what the check says.
const FOUND: f32 = 132.0;

/// Keys and what they do.
pub const KEYS: &[(Msg, Msg)] = &[
    (msg!("edit-key-undo"), msg!("edit-undo-words")),
    (msg!("edit-key-redo"), msg!("edit-redo-words")),
    (msg!("edit-key-save"), msg!("save")),
    (msg!("edit-key-save-as"), msg!("edit-save-as-words")),
    (msg!("edit-key-sections"), msg!("edit-sections-words")),
    (msg!("edit-key-panes"), msg!("edit-panes-from-left")),
    (Msg::new("F5"), msg!("edit-fair-job-words")),
    (Msg::new("F6"), msg!("edit-sit-job-words")),
    (Msg::new("F8"), msg!("edit-next-words")),
    (Msg::new("F1"), msg!("keys-list")),
    (msg!("edit-key-escape"), msg!("edit-escape-words")),
];

/// Key presses, before any field sees them: changes back and forth are the job's, not a field's.
fn keys(editor: &Editor, ui: &Ui, orders: &mut Vec<Order>) {
    let sections = Section::of_kind(editor.draft.kind());
    let at = sections.iter().position(|s| *s == editor.section).unwrap_or(0);
    let count = sections.len();
    let ctrl_shift = Modifiers::COMMAND | Modifiers::SHIFT;
    ui.ctx().input_mut(|i| {
        let mut on = |modifiers: Modifiers, key: Key, order: Order| {
            if i.consume_key(modifiers, key) {
                orders.push(order);
            }
        };
        on(ctrl_shift, Key::Z, Order::Redo);
        on(Modifiers::COMMAND, Key::Z, Order::Undo);
        on(Modifiers::COMMAND, Key::Y, Order::Redo);
        on(ctrl_shift, Key::S, Order::SaveAs);
        on(Modifiers::COMMAND, Key::S, Order::Save);
        on(Modifiers::COMMAND, Key::PageDown, Order::Turn(sections[(at + 1) % count]));
        on(Modifiers::COMMAND, Key::PageUp, Order::Turn(sections[(at + count - 1) % count]));
        let panes = Pane::of_kind(editor.draft.kind());
        for (key, pane) in [Key::Num1, Key::Num2, Key::Num3, Key::Num4].into_iter().zip(panes) {
            on(Modifiers::COMMAND, key, Order::Show(*pane));
        }
        if editor.draft.kind() == Kind::Job {
            on(Modifiers::NONE, Key::F5, Order::Fair);
            on(Modifiers::NONE, Key::F6, Order::Sit);
        }
        on(Modifiers::NONE, Key::F8, Order::Jump(next_finding(editor)));
        on(Modifiers::NONE, Key::F1, Order::Keys);
    });
}

/// The finding after the one whose place was jumped to last.
fn next_finding(editor: &Editor) -> usize {
    editor.jumped.map_or(0, |i| (i + 1) % editor.proof.findings.len().max(1))
}

/// Draws the editor.
pub fn editor_ui(editor: &mut Editor, library: &crate::scenario::Library, ui: &mut Ui) -> Vec<Order> {
    let mut orders = vec![];
    if editor.question.is_none() && !editor.keys {
        keys(editor, ui, &mut orders);
    }
    let t = tokens(ui);
    let window = ui.max_rect();
    ui.painter().rect_filled(window, 0, t.ground);
    let narrow = window.width() < NARROW;
    if !narrow && editor.pane == Pane::Form {
        editor.pane = Pane::Text;
    }
    let top = window.with_max_y(window.top() + if narrow { 80.0 } else { 44.0 });
    let width = window.width() - 40.0;
    let found = 32.0 + rows(editor, width, ui).iter().map(|r| r.height + 2.0).sum::<f32>();
    let found = found.min(if narrow { 96.0 } else { FOUND });
    let bottom = window.with_min_y(window.bottom() - found).shrink2(vec2(8.0, 0.0));
    let body = Rect::from_min_max(
        pos2(window.left() + 8.0, top.bottom() + 4.0),
        pos2(window.right() - 8.0, bottom.top() - 8.0),
    );
    // as far to the right as the paper under it
    let line = top.shrink2(vec2(8.0, 4.0));
    inside(ui, line.with_min_x(line.left() + 4.0), "top", |ui| top_ui(editor, narrow, ui, &mut orders));
    ui.painter().hline(window.x_range(), top.bottom(), Stroke::new(1.0, t.rule));
    if narrow {
        narrow_ui(editor, library, body, ui, &mut orders);
    } else {
        let list = body.with_max_x(body.left() + LIST);
        inside(ui, list, "sections", |ui| sections_ui(editor, ui, &mut orders));
        let form = Rect::from_min_max(
            pos2(list.right() + 8.0, body.top()),
            pos2(list.right() + 8.0 + FORM, body.bottom()),
        );
        sheet(ui, form, "form", |ui| form_ui(editor, library, ui, &mut orders));
        let beside = body.with_min_x(form.right() + 12.0);
        panes_ui(editor, Pane::of_kind(editor.draft.kind()), beside, ui, &mut orders);
    }
    inside(ui, bottom, "found", |ui| found_ui(editor, ui, &mut orders));
    questions_ui(editor, ui, &mut orders);
    if !orders.is_empty() {
        // what comes of them is seen at once, and not only when the pointer moves
        ui.ctx().request_repaint();
    }
    orders
}

fn inside(ui: &mut Ui, rect: Rect, name: &str, add: impl FnOnce(&mut Ui)) {
    ui.scope_builder(UiBuilder::new().max_rect(rect).id_salt(name), |ui| {
        ui.set_clip_rect(rect.expand(4.0).intersect(ui.clip_rect()));
        add(ui);
    });
}

fn sheet(ui: &mut Ui, rect: Rect, name: &str, add: impl FnOnce(&mut Ui)) {
    widgets::sheet(ui, rect);
    inside(ui, rect.shrink2(vec2(12.0, 8.0)), name, add);
}

fn narrow_ui(
    editor: &mut Editor,
    library: &crate::scenario::Library,
    body: Rect,
    ui: &mut Ui,
    orders: &mut Vec<Order>,
) {
    let mut all = vec![Pane::Form];
    all.extend(Pane::of_kind(editor.draft.kind()));
    if editor.pane != Pane::Form {
        panes_ui(editor, &all, body, ui, orders);
        return;
    }
    let (tabs, paper) = body.split_top_bottom_at_y(body.top() + 34.0);
    tabs_ui(editor, &all, tabs, ui, orders);
    widgets::sheet(ui, paper);
    let list = paper.with_max_x(paper.left() + LIST);
    inside(ui, list.shrink(6.0), "sections", |ui| sections_ui(editor, ui, orders));
    inside(ui, paper.with_min_x(list.right() + 6.0).shrink2(vec2(8.0, 6.0)), "form", |ui| {
        form_ui(editor, library, ui, orders);
    });
}

fn top_ui(editor: &Editor, narrow: bool, ui: &mut Ui, orders: &mut Vec<Order>) {
    let state = if editor.draft.is_saved() { said("edit-saved") } else { said("edit-unsaved") };
    let title = tell!("edit-write", kind = kind_word(editor.draft.kind()));
    let file = format!("{}.ron · {state}", editor.draft.name());
    let wide = |words: &str, font| widgets::widest(ui, [words], &font) + 8.0;
    let (titled, filed) = (wide(&title, semibold(16.5)), wide(&file, regular(13.0)));
    let whole = ui.available_width();
    // what has no room beside the title is left out or goes into a list, nothing is cut
    let room = if narrow { whole } else { whole - titled - 16.0 };
    let all = buttons(editor);
    let each: Vec<f32> = all.iter().map(|b| wide(b.text, regular(14.0)) + 22.0).collect();
    let least = all.iter().zip(&each).filter(|(b, _)| !b.can_hide).map(|(_, w)| w).sum::<f32>();
    let with_file = room - filed >= each.iter().sum::<f32>() || (narrow && titled + filed <= whole);
    let shows_all = room - if with_file && !narrow { filed } else { 0.0 } >= each.iter().sum::<f32>();
    let about = |ui: &mut Ui| {
        ui.label(RichText::new(&title).font(semibold(16.5)));
        if with_file {
            ui.label(quiet(ui, &file).size(13.0));
        }
    };
    if narrow {
        ui.horizontal(about);
        ui.horizontal(|ui| buttons_ui(&all, shows_all, ui, orders));
    } else {
        let asked = |b: &TopButton| {
            let font = if b.order == Order::Save { semibold(14.0) } else { regular(14.0) };
            (wide(b.text, font) - 8.0 + 2.0 * ui.spacing().button_padding.x).ceil() + BETWEEN
        };
        let taken = if shows_all { all.iter().map(asked).sum::<f32>() - BETWEEN } else { least + LIST_BUTTON };
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            // drawn from the right, so that it is read from the left
            ui.allocate_ui_with_layout(vec2(taken, 32.0), Layout::left_to_right(Align::Center), |ui| {
                ui.set_min_width(taken);
                buttons_ui(&all, shows_all, ui, orders);
            });
            ui.with_layout(Layout::left_to_right(Align::Center), about);
        });
    }
}

/// A button on top.
struct TopButton {
    text: &'static str,
    name: &'static str,
    /// Why it can't be pressed, or nothing.
    why: &'static str,
    order: Order,
    /// Where there is little room it is found in a list.
    can_hide: bool,
}

fn buttons(editor: &Editor) -> Vec<TopButton> {
    let broken = if editor.proof.job.is_some() { "" } else { said("fair-job-error") };
    let busy = if editor.fair.task.is_some() { said("edit-busy") } else { broken };
    let undo = if editor.draft.can_undo() { "" } else { said("edit-no-undo") };
    let redo = if editor.draft.can_redo() { "" } else { said("edit-no-redo") };
    let saved = if editor.draft.is_saved() { said("edit-is-saved") } else { "" };
    let is_job = editor.draft.kind() == Kind::Job;
    let all = [
        (said("edit-undo"), said("edit-undo-name"), undo, Order::Undo, false),
        (said("edit-redo"), said("edit-redo-name"), redo, Order::Redo, false),
        (said("edit-save"), said("edit-save-name"), saved, Order::Save, false),
        (said("edit-save-as"), said("edit-save-as-name"), "", Order::SaveAs, true),
        (said("fair-check"), said("edit-fair-name"), busy, Order::Fair, true),
        (said("edit-sit"), said("edit-sit-name"), broken, Order::Sit, false),
        (said("edit-keys"), said("keys-list-name"), "", Order::Keys, true),
        (said("close-button"), said("edit-close-name"), "", Order::Close, false),
    ];
    all.into_iter()
        .filter(|b| is_job || !matches!(b.3, Order::Fair | Order::Sit))
        .map(|(text, name, why, order, can_hide)| TopButton { text, name, why, order, can_hide })
        .collect()
}

fn buttons_ui(all: &[TopButton], shows_all: bool, ui: &mut Ui, orders: &mut Vec<Order>) {
    ui.spacing_mut().item_spacing.x = BETWEEN;
    for TopButton { text, name, why, order, .. } in all.iter().filter(|b| shows_all || !b.can_hide) {
        let weight = if *order == Order::Save { Weight::Primary } else { Weight::Plain };
        let pressed = widgets::button(ui, weight, text, name, why.is_empty(), why);
        if pressed.on_hover_text(*name).clicked() {
            orders.push(order.clone());
        }
    }
    if shows_all {
        return;
    }
    ui.menu_button(RichText::new(said("hands-more")).font(regular(14.0)), |ui| {
        ui.set_min_width(260.0);
        for TopButton { name, why, order, .. } in all.iter().filter(|b| b.can_hide) {
            if widgets::row_button(ui, ui.available_width(), name, "", why.is_empty(), why).clicked() {
                orders.push(order.clone());
                ui.close();
            }
        }
    });
}

fn sections_ui(editor: &Editor, ui: &mut Ui, orders: &mut Vec<Order>) {
    ScrollArea::vertical().id_salt("section list").auto_shrink([false, false]).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 2.0;
        for section in Section::of_kind(editor.draft.kind()) {
            if section_ui(editor, *section, ui) {
                orders.push(Order::Turn(*section));
            }
        }
    });
}

fn section_ui(editor: &Editor, section: Section, ui: &mut Ui) -> bool {
    let t = tokens(ui);
    let here = |f: &&Finding| {
        Section::of(editor.draft.kind(), &f.place) == Some(section) && f.page == Some(Page::File)
            || section == Section::Marking && f.page == Some(Page::Scheme)
    };
    let errors = editor.proof.findings.iter().filter(here).filter(|f| f.is_error).count();
    let all = editor.proof.findings.iter().filter(here).count();
    let on = editor.section == section;
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width() - 4.0, 34.0), Sense::click());
    let said = match (errors, all - errors) {
        (0, 0) => section.title().to_owned(),
        (0, n) => tell!("edit-section-look", section = section.title(), n = n),
        (n, _) => tell!("edit-section-wrong", section = section.title(), n = n),
    };
    response.widget_info(|| WidgetInfo::selected(WidgetType::SelectableLabel, true, on, &said));
    let painter = ui.painter();
    if on || response.hovered() {
        painter.rect_filled(rect, 4, if on { t.highlight } else { t.sheet });
    }
    if on {
        painter.vline(rect.left() + 1.5, rect.y_range().shrink(4.0), Stroke::new(3.0, t.accent));
    }
    let font = if on { semibold(14.0) } else { regular(14.0) };
    painter.text(rect.left_center() + vec2(12.0, 0.0), Align2::LEFT_CENTER, section.title(), font, t.ink);
    if all > 0 {
        let at = rect.right_center() - vec2(14.0, 0.0);
        widgets::mark(painter, at, if errors > 0 { Mark::Cross } else { Mark::Caution }, t);
    }
    widgets::focus_ring(ui, &response, rect.shrink(2.0));
    response.clicked()
}

fn form_ui(editor: &mut Editor, library: &crate::scenario::Library, ui: &mut Ui, orders: &mut Vec<Order>) {
    let form: JobForm = match &editor.proof.form {
        Ok(form) => form.clone(),
        Err(why) => {
            ui.label(heading(said("edit-form-waits")));
            ui.label(RichText::new(why).font(regular(14.0)).color(tokens(ui).critical));
            ui.label(quiet(ui, said("edit-form-waits-why")));
            return;
        }
    };
    let proof = editor.proof.clone();
    let scheme = editor.draft.text(Page::Scheme).map(str::to_owned);
    let text = editor.draft.text(Page::File).unwrap_or_default().to_owned();
    let kind = editor.draft.kind();
    let folder = editor.pictures.clone();
    let vehicle = proof.vehicle.clone().unwrap_or_default();
    let course = proof.course.clone().unwrap_or_default();
    let mut f = Form { form: &form, proof: &proof, typing: &mut editor.typing, focus: &mut editor.focus, orders };
    ScrollArea::vertical().id_salt(("form", editor.section)).auto_shrink([false, false]).show(ui, |ui| {
        ui.set_max_width(ui.available_width() - 6.0);
        match editor.section {
            Section::Card => card::card_ui(&mut f, library, &folder, ui),
            Section::Setting => card::setting_ui(&mut f, library, ui),
            Section::Questions => asking::questions_ui(&mut f, ui),
            Section::Looks => asking::looks_ui(&mut f, ui),
            Section::Fault => faults::faults_ui(&mut f, ui),
            Section::Candidates => rivals::candidates_ui(&mut f, ui),
            Section::Tests => card::tests_ui(&mut f, ui),
            Section::Teaching => card::teaching_ui(&mut f, ui),
            Section::Variants => variants::variants_ui(&mut f, ui),
            Section::Limits if kind == Kind::Plant => limits::card_ui(&mut f, &vehicle, ui),
            Section::Limits => limits::limits_ui(&mut f, library, ui),
            Section::Machine => plant::machine_ui(&mut f, &vehicle, ui),
            Section::Parts => supply::parts_ui(&mut f, &vehicle, &editor.picked, &mut editor.new_part, ui),
            Section::Nodes => supply::nodes_ui(&mut f, &vehicle, &editor.picked, ui),
            Section::Course => course::course_ui(&mut f, &course, ui),
            Section::Stages => course::stages_ui(&mut f, &course, library, ui),
            Section::Marking if kind == Kind::Rubric => limits::scheme_ui(&mut f, &text, ui),
            Section::Marking => limits::marking_ui(&mut f, library, scheme.as_deref(), ui),
        }
        ui.add_space(24.0);
    });
    // a place that no field shows gets no keyboard later either
    editor.focus = None;
}

fn tabs_ui(editor: &Editor, all: &[Pane], tabs: Rect, ui: &mut Ui, orders: &mut Vec<Order>) {
    let width = (tabs.width() / all.len() as f32).min(170.0);
    for (i, pane) in all.iter().enumerate() {
        let rect =
            Rect::from_min_size(pos2(tabs.left() + width * i as f32, tabs.top()), vec2(width - 2.0, tabs.height()));
        if widgets::index_tab(ui, rect, pane.title(), editor.pane == *pane).clicked() {
            orders.push(Order::Show(*pane));
        }
    }
}

fn panes_ui(editor: &mut Editor, all: &[Pane], rect: Rect, ui: &mut Ui, orders: &mut Vec<Order>) {
    let (tabs, paper) = rect.split_top_bottom_at_y(rect.top() + 34.0);
    widgets::sheet(ui, paper);
    tabs_ui(editor, all, tabs, ui, orders);
    let paper = if editor.pane == Pane::Text { paper.shrink(2.0) } else { paper.shrink2(vec2(12.0, 8.0)) };
    inside(ui, paper, "pane", |ui| match editor.pane {
        Pane::Form => {}
        Pane::Text => text::text_ui(editor, ui, orders),
        Pane::Preview => preview::preview_ui(editor, ui, orders),
        Pane::Vehicle => vehicle::vehicle_ui(editor, ui, orders),
        Pane::Fairness => fairness::fairness_ui(editor, ui, orders),
        Pane::Readings => readings::readings_ui(editor, ui, orders),
    });
}

/// What the check says, and what was said last.
fn found_ui(editor: &Editor, ui: &mut Ui, orders: &mut Vec<Order>) {
    let t = tokens(ui);
    let errors = editor.proof.errors();
    let others = editor.proof.findings.len() - errors;
    ui.horizontal(|ui| {
        ui.set_height(24.0);
        let (sign, words) = match (errors, others) {
            (0, 0) => (Mark::Tick, said("check-nothing").to_owned()),
            (0, n) => (Mark::Caution, tell!("check-usable", n = n)),
            (n, _) => (Mark::Cross, tell!("check-not-usable", n = n)),
        };
        widgets::mark_ui(sign, ui);
        ui.label(RichText::new(words).font(semibold(13.5)));
        let (words, is_trouble) = &editor.note;
        let colour = if *is_trouble { t.critical } else { t.second_ink };
        let said = ui.add(egui::Label::new(RichText::new(words).font(italic(13.0)).color(colour)).truncate());
        said.on_hover_text(words);
    });
    ScrollArea::vertical().id_salt("what was found").auto_shrink([false, false]).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 2.0;
        let width = ui.available_width() - 8.0;
        for (i, row) in rows(editor, width, ui).into_iter().enumerate() {
            let (rect, response) = ui.allocate_exact_size(vec2(width, row.height), Sense::click());
            response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, &row.said));
            let painter = ui.painter().with_clip_rect(rect.intersect(ui.clip_rect()));
            if response.hovered() {
                painter.rect_filled(rect, 2, t.highlight);
            }
            widgets::mark(&painter, rect.left_top() + vec2(10.0, 12.0), row.sign, t);
            painter.galley(rect.left_top() + vec2(24.0, 4.0), row.place, t.ink);
            painter.galley(rect.left_top() + vec2(24.0 + row.indent, 4.0), row.words, t.ink);
            widgets::focus_ring(ui, &response, rect.shrink(2.0));
            if response.clicked() {
                orders.push(Order::Jump(i));
            }
        }
    });
}

/// A line of what the check found, laid out.
struct FoundRow {
    sign: Mark,
    place: Arc<egui::Galley>,
    words: Arc<egui::Galley>,
    indent: f32,
    height: f32,
    said: String,
}

/// What the check found, in lines that are broken and never cut.
fn rows(editor: &Editor, width: f32, ui: &Ui) -> Vec<FoundRow> {
    let t = tokens(ui);
    let row = |found: &Finding| {
        let place = match (found.page, found.place.is_empty()) {
            (None, _) => found.file.clone(),
            (Some(_), true) => tell!("check-line", line = found.at.0),
            (Some(_), false) => tell!("check-line-place", line = found.at.0, place = place_words(&found.place)),
        };
        let kind = if found.is_error { said("check-wrong") } else { said("check-look") };
        let said = format!("{kind}: {place}: {} {}", found.message, found.help);
        let place = ui.painter().layout_no_wrap(place, bold_figures(12.0), t.ink);
        let indent = place.size().x + 12.0;
        let words = format!("{} {}", found.message, found.help);
        let words = ui.painter().layout(words, regular(13.0), t.ink, (width - indent - 32.0).max(120.0));
        let sign = if found.is_error { Mark::Cross } else { Mark::Caution };
        FoundRow { sign, indent, height: words.size().y.max(16.0) + 8.0, place, words, said }
    };
    editor.proof.findings.iter().map(row).collect()
}

/// Questions over everything else: another name, leaving, the list of keys.
fn questions_ui(editor: &mut Editor, ui: &mut Ui, orders: &mut Vec<Order>) {
    if editor.keys {
        keys_ui(ui, orders);
    }
    let Some(question) = &mut editor.question else { return };
    let modal = widgets::sheet_over_all(ui, "question of the editor").show(ui.ctx(), |ui| {
        ui.set_width(460.0);
        match question {
            Question::Name(name) => {
                ui.label(heading(said("edit-save-which")));
                widgets::text_field(ui, name, said("edit-name-of-file"), "coughs-then-fine", 460.0);
                let why = name_trouble(name).unwrap_or_default();
                ui.label(quiet(
                    ui,
                    if why.is_empty() { tell!("edit-written-to", name = name) } else { why.clone() },
                ));
                ui.label(quiet(ui, said("edit-hides-one")));
                ui.horizontal(|ui| {
                    if widgets::button(
                        ui,
                        Weight::Primary,
                        said("edit-save"),
                        said("edit-save-this-name"),
                        why.is_empty(),
                        &why,
                    )
                    .clicked()
                    {
                        orders.push(Order::SaveUnder(name.clone()));
                    }
                    if widgets::button(ui, Weight::Plain, said("edit-not-now"), said("edit-not-now-name"), true, "")
                        .clicked()
                    {
                        orders.push(Order::NotNow);
                    }
                });
            }
            Question::Leave => {
                ui.label(heading(said("edit-this-not-saved")));
                ui.label(said("edit-draft-later"));
                ui.horizontal(|ui| {
                    let all = [
                        (Weight::Primary, said("edit-keep-draft"), Order::KeepAndClose),
                        (Weight::Plain, said("edit-throw-away"), Order::ThrowAway),
                        (Weight::Plain, said("edit-go-on"), Order::NotNow),
                    ];
                    for (weight, words, order) in all {
                        if widgets::button(ui, weight, words, words, true, "").clicked() {
                            orders.push(order);
                        }
                    }
                });
            }
        }
    });
    if modal.should_close() {
        orders.push(Order::NotNow);
    }
}

fn keys_ui(ui: &mut Ui, orders: &mut Vec<Order>) {
    let modal = widgets::sheet_over_all(ui, "keys of the editor").show(ui.ctx(), |ui| {
        ui.set_width(460.0);
        ui.label(heading(said("edit-keys-title")));
        egui::Grid::new("editor keys").num_columns(2).spacing([18.0, 4.0]).show(ui, |ui| {
            for (key, words) in KEYS {
                ui.label(RichText::new(key.said()).font(bold_figures(13.0)));
                ui.label(words.said());
                ui.end_row();
            }
        });
        if widgets::button(ui, Weight::Plain, said("edit-close-list"), said("keys-close"), true, "").clicked() {
            orders.push(Order::Keys);
        }
    });
    if modal.should_close() {
        orders.push(Order::Keys);
    }
}
