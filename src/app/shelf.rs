//! The first page: jobs to take from the shelf, what was begun, what is set, and what this is not.

use std::sync::Arc;

use bevy_egui::egui::{
    self, Align, Galley, Layout, Rect, RichText, ScrollArea, Sense, Stroke, StrokeKind, Ui, Vec2, WidgetInfo,
    WidgetType, pos2, vec2,
};

use super::session::{Begun, Card};
use super::theme::{RADIUS, heading, italic, quiet, regular, semibold, tokens};
use super::tokens::Tokens;
use super::widgets;
use super::words::number;
use super::{outlines, scene_layout};
use crate::language::{Msg, named, said};
use crate::msg;
use crate::scenario::model::Level;
use crate::tell;

/// What must be said before anything else.
pub const HABITS: Msg = msg!("shelf-habits");

/// What was asked for on the first page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Taken {
    /// This job.
    Job(usize),
    /// This sitting that was begun.
    Begun(usize),
    /// The settings.
    Settings,
    /// The editor.
    Write,
}

/// What the shelf remembers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ShelfState {
    /// Only jobs of this level.
    pub level: Option<Level>,
}

/// How far a job is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Standing {
    /// Not begun.
    Open,
    /// Begun and left.
    Begun,
    /// Handed back, with the best result so far.
    Over(Option<f64>),
}

/// A job as it stands in its course.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Which card.
    pub card: usize,
    /// What it is there to learn.
    pub aim: String,
    /// How far it is.
    pub standing: Standing,
    /// Titles of jobs that are best sat first and weren't yet.
    pub first: Vec<String>,
    /// What to do next.
    pub next: bool,
}

/// A course on the shelf.
#[derive(Clone, Debug, PartialEq)]
pub struct CourseView {
    /// Title.
    pub title: String,
    /// For whom.
    pub for_whom: String,
    /// Its jobs.
    pub rows: Vec<Row>,
}

/// The shelf, ready to be drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct ShelfView {
    /// The courses, the easiest first; jobs of no course last.
    pub courses: Vec<CourseView>,
}

impl Row {
    /// How it stands, in a few words.
    pub fn status(&self) -> String {
        match self.standing {
            Standing::Open if self.next => said("shelf-next").to_owned(),
            Standing::Open if !self.first.is_empty() => tell!("shelf-best-after", first = self.first.join(", ")),
            Standing::Open => String::new(),
            Standing::Begun => said("shelf-begun").to_owned(),
            Standing::Over(None) => said("shelf-handed-back").to_owned(),
            Standing::Over(Some(total)) => tell!("shelf-best-mark", total = number(total, 0)),
        }
    }

    /// Everything about it for somebody who doesn't see it.
    fn words(&self, card: &Card) -> String {
        let parts = [
            self.status(),
            named(card.level.word()).to_owned(),
            tell!("shelf-minutes", minutes = format!("{:.0}", card.minutes)),
            self.aim.clone(),
        ];
        parts.into_iter().filter(|p| !p.is_empty()).collect::<Vec<_>>().join(", ")
    }
}

impl CourseView {
    /// How many of its jobs were handed back.
    pub fn done(&self) -> usize {
        self.rows.iter().filter(|r| matches!(r.standing, Standing::Over(_))).count()
    }

    /// The same in words.
    pub fn progress(&self) -> String {
        match (self.done(), self.rows.len()) {
            (0, 1) => said("shelf-one-job").to_owned(),
            (0, n) => tell!("shelf-jobs", n = n),
            (done, n) if done == n => tell!("shelf-all-done", n = n),
            (done, n) => tell!("shelf-some-done", done = done, n = n),
        }
    }
}

impl ShelfView {
    /// Sorts the cards into their courses and says what comes next: the first job not handed back in the course that was
    /// worked at last, whose jobs before it are done; with nothing begun, the first of the easiest course.
    pub fn of(cards: &[Card], begun: &[Begun]) -> Self {
        let standing = |card: usize| {
            let of = || begun.iter().filter(move |b| b.card == card);
            if of().any(|b| b.over) {
                Standing::Over(of().filter_map(|b| b.total).reduce(f64::max))
            } else if of().next().is_some() {
                Standing::Begun
            } else {
                Standing::Open
            }
        };
        let over = |card: usize| matches!(standing(card), Standing::Over(_));
        let mut courses: Vec<CourseView> = vec![];
        let mut order: Vec<usize> = (0..cards.len()).collect();
        let place = |i: &usize| cards[*i].stage.as_ref().map_or((usize::MAX, *i), |s| (s.course, s.place));
        order.sort_by_key(place);
        let mut last = None;
        for i in order {
            let course = cards[i].stage.as_ref().map(|s| s.course);
            if courses.is_empty() || last != course {
                let (title, for_whom) = cards[i].stage.as_ref().map_or_else(
                    || (said("shelf-no-course").to_owned(), String::new()),
                    |s| (named(&s.title).to_owned(), named(&s.for_whom).to_owned()),
                );
                courses.push(CourseView { title, for_whom, rows: vec![] });
                last = course;
            }
            let stage = cards[i].stage.as_ref();
            let first = stage.iter().flat_map(|s| &s.after).filter(|j| !over(**j));
            let row = Row {
                card: i,
                aim: stage.map_or_else(String::new, |s| named(&s.aim).to_owned()),
                standing: standing(i),
                first: first.filter_map(|j| cards.get(*j)).map(|c| c.title.clone()).collect(),
                next: false,
            };
            if let Some(course) = courses.last_mut() {
                course.rows.push(row);
            }
        }
        let mut view = Self { courses };
        // what was begun last comes first in the list
        let worked =
            begun.iter().find_map(|b| view.courses.iter().position(|c| c.rows.iter().any(|r| r.card == b.card)));
        let from = worked.unwrap_or(0);
        let ready = |row: &Row| row.standing == Standing::Open && row.first.is_empty();
        let mut in_turn = (0..view.courses.len()).map(|k| (from + k) % view.courses.len());
        let next = in_turn.find_map(|c| Some((c, view.courses[c].rows.iter().position(ready)?)));
        if let Some((c, r)) = next {
            view.courses[c].rows[r].next = true;
        }
        view
    }
}

/// Width of a window from which the shelf is wider than a page, points.
const WIDE: f32 = 1800.0;
/// Width from which two jobs lie side by side, points.
const TWO_COLUMNS: f32 = 1400.0;

/// Draws the shelf; returns what was taken.
pub fn shelf_ui(
    cards: &[Card],
    begun: &[Begun],
    can_write: bool,
    trouble: Option<&str>,
    state: &mut ShelfState,
    ui: &mut Ui,
) -> Option<Taken> {
    let t = tokens(ui);
    let rect = ui.max_rect();
    ui.painter().rect_filled(rect, 0, t.ground);
    let most = if rect.width() < WIDE { 1180.0 } else { 1920.0 };
    let column = Rect::from_center_size(rect.center(), vec2(rect.width().min(most) - 24.0, rect.height() - 16.0));
    let mut taken = None;
    ui.scope_builder(egui::UiBuilder::new().max_rect(column), |ui| {
        ui.add_space(8.0);
        ui.horizontal(|ui| {
            ui.label(RichText::new("Faultbay").font(semibold(26.0)));
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                if widgets::small_button(ui, said("settings"), said("settings-title"), true, "").clicked() {
                    taken = Some(Taken::Settings);
                }
                let why = said("shelf-no-folder");
                if widgets::small_button(ui, said("shelf-write"), said("edit-title"), can_write, why).clicked() {
                    taken = Some(Taken::Write);
                }
            });
        });
        ui.label(quiet(ui, said("shelf-subtitle")));
        ui.add_space(6.0);
        widgets::caution_chip(ui, HABITS.said());
        ui.add_space(8.0);
        if let Some(trouble) = trouble {
            ui.label(RichText::new(trouble).font(regular(14.0)).color(t.critical));
        }
        let rest = ui.available_rect_before_wrap();
        let beside = if begun.is_empty() || rest.width() < 900.0 { 0.0 } else { 340.0 };
        let jobs = rest.with_max_x(rest.right() - if beside > 0.0 { beside + 20.0 } else { 0.0 });
        ui.scope_builder(egui::UiBuilder::new().max_rect(jobs).id_salt("jobs"), |ui| {
            ScrollArea::vertical().id_salt("cards").auto_shrink([false, false]).show(ui, |ui| {
                if beside == 0.0 {
                    begun_ui(begun, &mut taken, ui);
                }
                jobs_ui(cards, begun, state, &mut taken, ui);
            });
        });
        if beside > 0.0 {
            let side = rest.with_min_x(rest.right() - beside);
            ui.scope_builder(egui::UiBuilder::new().max_rect(side).id_salt("begun"), |ui| {
                ScrollArea::vertical().id_salt("kept").auto_shrink([false, false]).show(ui, |ui| {
                    begun_ui(begun, &mut taken, ui);
                });
            });
        }
    });
    taken
}

/// The courses with their jobs; what to do next stands out.
fn jobs_ui(cards: &[Card], begun: &[Begun], state: &mut ShelfState, taken: &mut Option<Taken>, ui: &mut Ui) {
    if cards.is_empty() {
        ui.label(said("shelf-empty"));
    }
    level_ui(state, ui);
    let view = ShelfView::of(cards, begun);
    for course in &view.courses {
        let rows = course.rows.iter().filter(|r| state.level.is_none_or(|level| cards[r.card].level == level));
        let rows: Vec<&Row> = rows.collect();
        if rows.is_empty() {
            continue;
        }
        ui.add_space(6.0);
        course_ui(course, ui);
        let columns = if ui.available_width() < TWO_COLUMNS { 1 } else { 2 };
        let gap = ui.spacing().item_spacing.y;
        let width = (ui.available_width() - 4.0 - gap * (columns as f32 - 1.0)) / columns as f32;
        for side_by_side in rows.chunks(columns) {
            let laid: Vec<Laid> =
                side_by_side.iter().map(|row| Laid::of(&cards[row.card], row, width, ui)).collect();
            let high = laid.iter().map(|laid| laid.high).fold(0.0, f32::max);
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = gap;
                for (row, laid) in side_by_side.iter().zip(laid) {
                    if card_ui(&cards[row.card], row, laid, vec2(width, high), ui) {
                        *taken = Some(Taken::Job(row.card));
                    }
                }
            });
        }
    }
}

/// All levels, or one.
fn level_ui(state: &mut ShelfState, ui: &mut Ui) {
    let words: Vec<&str> =
        std::iter::once(said("shelf-all-levels")).chain(Level::ALL.iter().map(|l| named(l.word()))).collect();
    let chosen = state.level.map_or(0, |l| 1 + l as usize);
    let width = ui.available_width().min(560.0);
    if let Some(picked) = widgets::choice(ui, width, said("level"), &words, Some(chosen)) {
        state.level = picked.checked_sub(1).map(|i| Level::ALL[i]);
    }
}

fn course_ui(course: &CourseView, ui: &mut Ui) {
    let t = tokens(ui);
    let width = ui.available_width() - 4.0;
    let progress = course.progress();
    let title = ui.painter().layout(course.title.clone(), semibold(16.0), t.ink, width);
    let said = ui.painter().layout_no_wrap(progress.clone(), regular(12.5), t.second_ink);
    let squares = 14.0 + 12.0 * course.rows.len() as f32;
    let beside = title.size().x + squares + said.size().x + 24.0 <= width;
    let height = if beside { title.size().y.max(24.0) } else { title.size().y + 20.0 };
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, format!("{}, {progress}", course.title)));
    let painter = ui.painter();
    // progress at the right of the title, or under it
    let (mut x, y) = if beside {
        painter.galley(pos2(rect.left(), rect.center().y - title.size().y / 2.0), title, t.ink);
        (rect.right() - said.size().x - squares, rect.center().y)
    } else {
        let y = rect.top() + title.size().y + 10.0;
        painter.galley(rect.min, title, t.ink);
        (rect.left(), y)
    };
    // a square for every job, full when it was handed back
    for row in &course.rows {
        let square = Rect::from_center_size(pos2(x + 4.0, y), vec2(8.0, 8.0));
        match row.standing {
            Standing::Over(_) => painter.rect_filled(square, 1, t.accent),
            _ => painter.rect_stroke(square, 1, Stroke::new(1.2, t.faint), StrokeKind::Inside),
        };
        x += 12.0;
    }
    painter.galley(pos2(x + 14.0, y - said.size().y / 2.0), said, t.second_ink);
    if !course.for_whom.is_empty() {
        ui.label(quiet(ui, &course.for_whom));
    }
}

/// Width of the vehicle's outline on its card, and of a card that has room for it, points.
const OUTLINE: f32 = 148.0;
const ROOM_FOR_OUTLINE: f32 = 700.0;

/// The vehicle's outline at the right of its card: told apart before a word is read. Nothing is told that the words don't.
fn outline_ui(card: &Card, on: Rect, painter: &egui::Painter, t: &Tokens) {
    let size = scene_layout::SIZE;
    let k = OUTLINE / size.0;
    let corner = pos2(on.right() - 16.0 - OUTLINE, on.bottom() - 10.0 - k * outlines::GROUND);
    let at = |p: (f32, f32)| corner + k * vec2(p.0, p.1);
    let stroke = Stroke::new(1.2, t.faint);
    for drawn in outlines::strokes(card.outline, size) {
        match drawn {
            outlines::Stroke::Line(points) => {
                painter.add(egui::Shape::line(points.into_iter().map(at).collect(), stroke));
            }
            outlines::Stroke::Circle(centre, r) => {
                painter.circle(at(centre), k * r, t.sheet, stroke);
            }
        }
    }
}

/// A job as it is laid out in a width.
struct Laid {
    title: Arc<Galley>,
    status: Arc<Galley>,
    words: Arc<Galley>,
    /// Level, time and way, and how it stands, have room beside the title.
    beside: (bool, bool),
    /// What stands under the title, each with how far it is moved in.
    lines: Vec<(Arc<Galley>, f32)>,
    /// Height of it all, points.
    high: f32,
}

impl Laid {
    fn of(card: &Card, row: &Row, width: f32, ui: &Ui) -> Self {
        let t = tokens(ui);
        let drawn = width >= ROOM_FOR_OUTLINE;
        let under = width - 32.0 - if drawn { OUTLINE + 20.0 } else { 0.0 };
        let lay_in = |text: &str, font, colour, room| ui.painter().layout(text.to_owned(), font, colour, room);
        let lay = |text: &str, font, colour| lay_in(text, font, colour, width - 32.0);
        let title = lay(&card.title, semibold(16.0), t.ink);
        let status = row.status();
        let status = lay(&status, semibold(12.5), if row.next { t.accent } else { t.second_ink });
        let words = tell!(
            "shelf-card-facts",
            level = card.level.word(),
            minutes = format!("{:.0}", card.minutes),
            mode = card.mode
        );
        let words = lay(&words, regular(12.5), t.second_ink);
        let vehicle = lay_in(&card.vehicle, regular(12.5), t.second_ink, under);
        let said = lay_in(&tell!("quoted", words = card.complaint), italic(14.0), t.ink, under);
        let aim = lay_in(&row.aim, regular(13.0), t.accent, under);
        // what has no room beside the title goes on a line of its own
        let has_status = !status.is_empty();
        let left = width - 32.0 - title.size().x - words.size().x - 20.0;
        let words_beside = left >= 0.0;
        let status_beside =
            has_status && (if words_beside { left } else { left + words.size().x }) >= status.size().x + 28.0;
        let mut lines: Vec<(Arc<Galley>, f32)> = vec![];
        if has_status && !status_beside {
            lines.push((status.clone(), 12.0));
        }
        if !words_beside {
            lines.push((words.clone(), 0.0));
        }
        lines.extend([(vehicle, 0.0), (said, 0.0)]);
        if !row.aim.is_empty() {
            lines.push((aim, 0.0));
        }
        let high: f32 = lines.iter().map(|(galley, _)| galley.size().y + 3.0).sum();
        let high = title.size().y + high + 22.0;
        Self { title, status, words, beside: (words_beside, status_beside), lines, high }
    }
}

fn card_ui(card: &Card, row: &Row, laid: Laid, size: Vec2, ui: &mut Ui) -> bool {
    let t = tokens(ui);
    let Laid { title, status, words, beside: (words_beside, status_beside), lines, .. } = laid;
    let drawn = size.x >= ROOM_FOR_OUTLINE;
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    response.widget_info(|| {
        let mut info = WidgetInfo::labeled(WidgetType::Button, true, tell!("shelf-take", title = card.title));
        info.hint_text = Some(row.words(card));
        info
    });
    let painter = ui.painter();
    let edge = if response.hovered() { t.ink } else { t.rule };
    painter.rect(rect, RADIUS, t.sheet, Stroke::new(1.0, edge), StrokeKind::Inside);
    if drawn {
        outline_ui(card, rect, painter, t);
    }
    if row.next {
        // a tab at the edge and a word: this one
        let tab = Rect::from_min_max(rect.min + vec2(0.0, 8.0), pos2(rect.left() + 5.0, rect.bottom() - 8.0));
        painter.rect_filled(tab, 0, t.accent);
    }
    let at = rect.min + vec2(16.0, 10.0);
    painter.galley(at, title.clone(), t.ink);
    let middle = at.y + title.size().y / 2.0;
    if status_beside {
        let x = at.x + title.size().x;
        sign(painter, pos2(x + 16.0, middle + 1.0), row, t);
        painter.galley(pos2(x + 28.0, middle + 1.0 - status.size().y / 2.0), status, t.second_ink);
    }
    if words_beside {
        let right = rect.right() - 16.0 - words.size().x;
        painter.galley(pos2(right, middle - words.size().y / 2.0), words, t.second_ink);
    }
    let mut y = at.y + title.size().y + 3.0;
    for (galley, indent) in lines {
        let high = galley.size().y;
        if indent > 0.0 {
            sign(painter, pos2(at.x + 4.0, y + high / 2.0), row, t);
        }
        painter.galley(pos2(at.x + indent, y), galley, t.ink);
        y += high + 3.0;
    }
    widgets::focus_ring(ui, &response, rect.shrink(2.0));
    response.clicked()
}

/// How a job stands, as a sign: a triangle for the next one, a ring for later, a half disc for begun, a disc for done.
fn sign(painter: &egui::Painter, at: egui::Pos2, row: &Row, t: &Tokens) {
    match row.standing {
        Standing::Open if row.next => {
            let tip = vec![at + vec2(-4.0, -5.0), at + vec2(5.0, 0.0), at + vec2(-4.0, 5.0)];
            painter.add(egui::Shape::convex_polygon(tip, t.accent, Stroke::NONE));
        }
        Standing::Open => {
            painter.circle_stroke(at, 4.0, Stroke::new(1.4, t.second_ink));
        }
        Standing::Begun => widgets::verdict_sign(painter, at, crate::bay::action::Verdict::NotProven, t.second_ink),
        Standing::Over(_) => {
            painter.circle_filled(at, 4.5, t.accent);
        }
    }
}

/// Sittings to go on with, then those that are over.
fn begun_ui(begun: &[Begun], taken: &mut Option<Taken>, ui: &mut Ui) {
    for (over, title) in [(false, said("shelf-go-on-with")), (true, said("shelf-over"))] {
        let mut any = false;
        for (i, sitting) in begun.iter().enumerate().filter(|(_, b)| b.over == over) {
            if !std::mem::replace(&mut any, true) {
                ui.add_space(4.0);
                ui.label(heading(title));
            }
            if row_ui(sitting, ui) {
                *taken = Some(Taken::Begun(i));
            }
        }
    }
}

fn row_ui(sitting: &Begun, ui: &mut Ui) -> bool {
    let t = tokens(ui);
    let width = ui.available_width() - 4.0;
    let lay = |text: &str, font, colour| ui.painter().layout(text.to_owned(), font, colour, width - 24.0);
    let title = lay(named(&sitting.title), semibold(13.5), t.ink);
    let about = lay(&sitting.about, regular(12.5), t.second_ink);
    let height = title.size().y + about.size().y + 17.0;
    let (rect, response) = ui.allocate_exact_size(vec2(width, height.max(48.0)), Sense::click());
    let verb = if sitting.over { said("shelf-see-result") } else { said("go-on") };
    let said = format!("{verb}: {}, {}", named(&sitting.title), sitting.about);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, &said));
    let edge = if response.hovered() { t.ink } else { t.rule };
    let painter = ui.painter();
    painter.rect(rect, RADIUS, t.sheet, Stroke::new(1.0, edge), StrokeKind::Inside);
    painter.galley(pos2(rect.left() + 12.0, rect.bottom() - 7.0 - about.size().y), about, t.second_ink);
    painter.galley(rect.min + vec2(12.0, 7.0), title, t.ink);
    widgets::focus_ring(ui, &response, rect.shrink(2.0));
    response.on_hover_text(said).clicked()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::session::Stage;

    fn card(title: &str, stage: Option<(usize, usize, &[usize])>) -> Card {
        Card {
            outline: outlines::Outline::Van,
            title: title.into(),
            vehicle: "a van".into(),
            complaint: "It stops.".into(),
            minutes: 30.0,
            mode: "practice".into(),
            level: Level::Beginner,
            stage: stage.map(|(course, place, after)| Stage {
                course,
                title: format!("course {course}"),
                for_whom: String::new(),
                place,
                aim: format!("aim of {title}"),
                after: after.to_vec(),
            }),
        }
    }

    fn begun(card: usize, over: bool, total: Option<f64>) -> Begun {
        Begun { title: String::new(), about: String::new(), over, card, total }
    }

    fn cards() -> Vec<Card> {
        vec![
            card("b", Some((0, 1, &[2]))),
            card("loose", None),
            card("a", Some((0, 0, &[]))),
            card("c", Some((1, 0, &[]))),
        ]
    }

    /// The shelf as text: a line a job.
    fn text(begun: &[Begun]) -> String {
        let cards = cards();
        let mut out = String::new();
        for course in ShelfView::of(&cards, begun).courses {
            out += &format!("{}: {}\n", course.title, course.progress());
            for row in course.rows {
                out += &format!("  {} [{}]\n", cards[row.card].title, row.status());
            }
        }
        out
    }

    #[test]
    fn a_fresh_shelf_begins_with_the_easiest() {
        assert_eq!(
            text(&[]),
            "course 0: 2 jobs\n  a [next]\n  b [best after a]\ncourse 1: 1 job\n  c []\nIn no course: 1 job\n  loose []\n"
        );
    }

    #[test]
    fn what_was_handed_back_opens_what_comes_after_it() {
        let kept = [begun(2, true, Some(55.0)), begun(2, true, Some(71.4)), begun(3, false, None)];
        assert_eq!(
            text(&kept),
            "course 0: 1 of 2 handed back\n  a [handed back, best 71 of 100]\n  b [next]\n\
             course 1: 1 job\n  c [begun: go on at the right]\nIn no course: 1 job\n  loose []\n"
        );
    }

    #[test]
    fn the_next_job_is_looked_for_in_the_course_worked_at_last() {
        let kept = [begun(3, true, None), begun(2, true, None)];
        let view = ShelfView::of(&cards(), &kept);
        let next: Vec<usize> =
            view.courses.iter().flat_map(|c| &c.rows).filter(|r| r.next).map(|r| r.card).collect();
        assert_eq!(next, [1], "course 1 is done, then come the jobs of no course, then the first course again");
        let all: Vec<Begun> = (0..4).map(|i| begun(i, true, None)).collect();
        assert!(ShelfView::of(&cards(), &all).courses.iter().flat_map(|c| &c.rows).all(|r| !r.next));
        assert!(ShelfView::of(&[], &[]).courses.is_empty());
    }
}
