//! Where everything on the desk stands, from the size of the window. Pure.
//!
//! Three ways, so that large letters on a small screen cut nothing off: the *whole* desk; the paper *beside* one page
//! of the place, drawing or chart; and *pages*, of which one is seen at a time. Sizes are in points: a window of
//! 1366 × 768 pixels with text of 200 % has 683 × 384.

use crate::language::said;
use bevy_egui::egui::{Rect, Vec2, pos2, vec2};

/// Least size at which drawing, chart and paper are all seen, points.
pub const WHOLE: Vec2 = vec2(1180.0, 640.0);
/// Least size at which the paper lies beside drawing or chart, points.
pub const BESIDE: Vec2 = vec2(1000.0, 540.0);
/// Below this the desk is scrolled, points.
pub const LEAST: Vec2 = vec2(620.0, 350.0);
/// Height of a row of index tabs, points.
pub const TABS: f32 = 34.0;
/// Below this height of pages the hands are put away until they are wanted, points.
const ROOM_FOR_HANDS: f32 = 470.0;

/// A page of the place.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum View {
    /// Drawing and glass; after hand-back the line opened.
    #[default]
    Place,
    /// The strip chart.
    Chart,
}

impl View {
    /// Both, in the order of their tabs.
    pub const ALL: [Self; 2] = [Self::Place, Self::Chart];

    /// What is written on its tab.
    pub fn title(self, over: bool) -> &'static str {
        match self {
            Self::Place if over => said("view-looking-back"),
            Self::Place => said("view-place"),
            Self::Chart => said("twin-chart"),
        }
    }
}

/// Which of the three ways.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Everything at once.
    Whole,
    /// One page of the place, and the paper.
    Beside,
    /// One page at a time.
    Pages,
}

impl Way {
    /// For a window of this size, points.
    pub fn of(size: Vec2) -> Self {
        let holds = |least: Vec2| size.x >= least.x && size.y >= least.y;
        if holds(WHOLE) {
            Self::Whole
        } else if holds(BESIDE) {
            Self::Beside
        } else {
            Self::Pages
        }
    }
}

/// What the layout is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// The vehicle was handed back.
    pub over: bool,
    /// Page of the place.
    pub view: View,
    /// Where one page is seen at a time: the paper and not the place.
    pub on_paper: bool,
    /// Hands out or put away; none: out where there is room.
    pub hands: Option<bool>,
    /// Height of what was said last, points.
    pub line: f32,
}

impl Default for Wanted {
    fn default() -> Self {
        Self { over: false, view: View::Place, on_paper: false, hands: None, line: 36.0 }
    }
}

/// Where everything stands, from the size of the window. What isn't seen has no place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plan {
    /// Which way.
    pub way: Way,
    /// Top line.
    pub top: Rect,
    /// The place.
    pub scene: Option<Rect>,
    /// The strip chart.
    pub chart: Option<Rect>,
    /// The quiet line.
    pub line: Rect,
    /// The hands.
    pub hands: Option<Rect>,
    /// The hands can be put away.
    pub drawer: bool,
    /// Index tabs of drawing and chart, where only one is seen.
    pub views: Option<Rect>,
    /// Index tabs of the paper.
    pub tabs: Rect,
    /// The paper.
    pub paper: Option<Rect>,
    /// Where the slip of what was touched lies.
    pub slip: Rect,
    /// Where the history of messages lies.
    pub history: Rect,
}

const GAP: f32 = 8.0;

impl Plan {
    /// Lays a window out on the 8-px grid. After hand-back there is nothing to handle, and the opened line gets the room.
    pub fn of(window: Rect, wanted: Wanted) -> Self {
        match Way::of(window.size()) {
            Way::Whole => Self::whole(window, wanted),
            Way::Beside => Self::beside(window, wanted),
            Way::Pages => Self::pages(window, wanted),
        }
    }

    fn hands_height(over: bool) -> f32 {
        if over { 50.0 } else { 100.0 }
    }

    fn whole(window: Rect, wanted: Wanted) -> Self {
        let over = wanted.over;
        let top = window.with_max_y(window.top() + 40.0);
        let body = Rect::from_min_max(pos2(window.left() + GAP, top.bottom() + 4.0), window.max - vec2(GAP, GAP));
        let paper_width = (body.width() * 0.345).clamp(448.0, 740.0);
        let split = body.right() - paper_width;
        let left = body.with_max_x(split - GAP);
        let hands = left.with_min_y(left.bottom() - Self::hands_height(over));
        let foot = hands.top() - GAP;
        let line = Rect::from_min_max(pos2(left.left(), foot - wanted.line), pos2(left.right(), foot));
        let work = left.with_max_y(line.top() - GAP);
        let middle = work.top() + (work.height() - GAP) * if over { 0.58 } else { 0.53 };
        let tabs = Rect::from_min_max(pos2(split, body.top()), pos2(body.right(), body.top() + TABS));
        let chart = work.with_min_y(middle + GAP);
        Self {
            way: Way::Whole,
            top,
            scene: Some(work.with_max_y(middle)),
            chart: Some(chart),
            line,
            hands: Some(hands),
            drawer: false,
            views: None,
            tabs,
            paper: Some(Rect::from_min_max(pos2(split, tabs.bottom()), body.max)),
            slip: chart,
            history: chart,
        }
    }

    fn beside(window: Rect, wanted: Wanted) -> Self {
        let (top, body, line, hands) = Self::rows(window, wanted, true);
        let split = body.right() - (body.width() * 0.42).clamp(430.0, 480.0);
        let views = Rect::from_min_max(body.min, pos2(split - GAP, body.top() + TABS));
        let page = Rect::from_min_max(views.left_bottom(), pos2(split - GAP, body.bottom()));
        let tabs = Rect::from_min_max(pos2(split, body.top()), pos2(body.right(), body.top() + TABS));
        Self {
            way: Way::Beside,
            top,
            scene: (wanted.view == View::Place).then_some(page),
            chart: (wanted.view == View::Chart).then_some(page),
            line,
            hands,
            drawer: false,
            views: Some(views),
            tabs,
            paper: Some(Rect::from_min_max(pos2(split, tabs.bottom()), body.max)),
            // the drawing stays in sight
            slip: Rect::from_min_max(pos2(split, body.top()), body.max),
            history: page,
        }
    }

    fn pages(window: Rect, wanted: Wanted) -> Self {
        let drawer = window.height() < ROOM_FOR_HANDS;
        let out = if drawer { wanted.hands.unwrap_or(false) } else { true };
        let (top, body, line, hands) = Self::rows(window, wanted, out);
        // two tabs of the place, five of the paper; each as wide as its longest word asks
        let split = body.left() + (body.width() * if wanted.over { 0.29 } else { 0.24 }).round();
        let head = body.top() + TABS;
        let page = body.with_min_y(head);
        let seen = |view| (!wanted.on_paper && wanted.view == view).then_some(page);
        Self {
            way: Way::Pages,
            top,
            scene: seen(View::Place),
            chart: seen(View::Chart),
            line,
            hands,
            drawer,
            views: Some(Rect::from_min_max(body.min, pos2(split, head))),
            tabs: Rect::from_min_max(pos2(split, body.top()), pos2(body.right(), head)),
            paper: wanted.on_paper.then_some(page),
            slip: page,
            history: page,
        }
    }

    /// Top line, what lies between, the quiet line and the hands, one under the other over the whole width.
    fn rows(window: Rect, wanted: Wanted, hands_out: bool) -> (Rect, Rect, Rect, Option<Rect>) {
        let top = window.with_max_y(window.top() + if window.height() < 400.0 { 36.0 } else { 40.0 });
        let gap = if window.height() < 400.0 { 4.0 } else { GAP };
        let inner = Rect::from_min_max(pos2(window.left() + GAP, top.bottom() + 4.0), window.max - vec2(GAP, gap));
        let hands = hands_out.then(|| inner.with_min_y(inner.bottom() - Self::hands_height(wanted.over)));
        let foot = hands.map_or(inner.bottom(), |h| h.top() - gap);
        let line = Rect::from_min_max(pos2(inner.left(), foot - wanted.line), pos2(inner.right(), foot));
        (top, inner.with_max_y(line.top() - gap), line, hands)
    }
}

#[cfg(test)]
mod tests {
    use bevy_egui::egui::Pos2;

    use super::*;

    /// Every window of the supported screens at every size of text, points.
    fn windows() -> Vec<(f32, f32)> {
        let screens = [(1280.0, 720.0), (1366.0, 768.0), (1920.0, 1080.0), (2560.0, 1440.0)];
        let zooms = [1.0, 1.25, 1.5, 1.75, 2.0];
        screens.iter().flat_map(|(w, h)| zooms.map(|z| (w / z, h / z))).collect()
    }

    fn wishes() -> Vec<Wanted> {
        let mut all = vec![];
        for over in [false, true] {
            for view in View::ALL {
                for on_paper in [false, true] {
                    for hands in [None, Some(true), Some(false)] {
                        all.push(Wanted { over, view, on_paper, hands, line: 36.0 });
                    }
                }
            }
        }
        all
    }

    #[test]
    fn nothing_overlaps_and_everything_stays_inside() {
        for (w, h) in windows() {
            let window = Rect::from_min_size(Pos2::ZERO, vec2(w, h));
            for wanted in wishes() {
                let p = Plan::of(window, wanted);
                let all: Vec<Rect> =
                    [Some(p.top), p.scene, p.chart, Some(p.line), p.hands, p.views, Some(p.tabs), p.paper]
                        .into_iter()
                        .flatten()
                        .collect();
                for (i, a) in all.iter().enumerate() {
                    assert!(window.expand(0.1).contains_rect(*a) && a.is_positive(), "{w}×{h} {wanted:?}: {i}");
                    for (k, b) in all.iter().enumerate().skip(i + 1) {
                        assert!(!a.shrink(0.5).intersects(b.shrink(0.5)), "{w}×{h} {wanted:?}: {i} and {k}");
                    }
                }
            }
        }
    }

    #[test]
    fn every_page_has_room_to_be_worked_in() {
        for (w, h) in windows() {
            for wanted in wishes() {
                let p = Plan::of(Rect::from_min_size(Pos2::ZERO, vec2(w, h)), wanted);
                // hands taken out of a drawer may be put away again
                let least = if p.drawer && p.hands.is_some() { 130.0 } else { 220.0 };
                for page in [p.scene, p.chart, p.paper].into_iter().flatten() {
                    assert!(page.height() >= least, "{w}×{h} {wanted:?}: {page:?}");
                }
            }
        }
    }

    #[test]
    fn the_whole_desk_is_seen_wherever_there_is_room_for_it() {
        assert_eq!(Way::of(vec2(1280.0, 720.0)), Way::Whole);
        assert_eq!(Way::of(vec2(1366.0 / 1.25, 768.0 / 1.25)), Way::Beside);
        assert_eq!(Way::of(vec2(1366.0 / 2.0, 768.0 / 2.0)), Way::Pages);
    }
}
