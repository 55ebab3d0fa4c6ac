//! Where everything on the desk stands, from the size of the window. Pure.

use bevy_egui::egui::{Rect, pos2, vec2};

/// Where everything stands, from the size of the window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plan {
    /// Top line.
    pub top: Rect,
    /// The place.
    pub scene: Rect,
    /// The strip chart.
    pub chart: Rect,
    /// The quiet line.
    pub line: Rect,
    /// The hands.
    pub hands: Rect,
    /// Index tabs of the paper.
    pub tabs: Rect,
    /// The paper.
    pub paper: Rect,
}

impl Plan {
    /// Lays a window out on the 8-px grid. After hand-back there is nothing to handle, and the opened line gets the room.
    pub fn of(window: Rect, over: bool) -> Self {
        let gap = 8.0;
        let top = window.with_max_y(window.top() + 40.0);
        let body = Rect::from_min_max(pos2(window.left() + gap, top.bottom() + 4.0), window.max - vec2(gap, gap));
        let paper_width = (body.width() * 0.345).clamp(448.0, 620.0);
        let split = body.right() - paper_width;
        let left = body.with_max_x(split - gap);
        let hands = left.with_min_y(left.bottom() - if over { 50.0 } else { 100.0 });
        let line =
            Rect::from_min_max(pos2(left.left(), hands.top() - gap - 36.0), pos2(left.right(), hands.top() - gap));
        let work = left.with_max_y(line.top() - gap);
        let middle = work.top() + (work.height() - gap) * if over { 0.58 } else { 0.53 };
        let tabs = Rect::from_min_max(pos2(split, body.top()), pos2(body.right(), body.top() + 34.0));
        Self {
            top,
            scene: work.with_max_y(middle),
            chart: work.with_min_y(middle + gap),
            line,
            hands,
            tabs,
            paper: Rect::from_min_max(pos2(split, tabs.bottom()), body.max),
        }
    }
}

#[cfg(test)]
mod tests {
    use bevy_egui::egui::Pos2;

    use super::*;

    #[test]
    fn nothing_overlaps_and_everything_stays_inside() {
        for (w, h) in [(1280.0, 720.0), (1366.0, 768.0), (1920.0, 1080.0), (2560.0, 1440.0)] {
            let window = Rect::from_min_size(Pos2::ZERO, vec2(w, h));
            for over in [false, true] {
                let p = Plan::of(window, over);
                let all = [p.top, p.scene, p.chart, p.line, p.hands, p.tabs, p.paper];
                for (i, a) in all.iter().enumerate() {
                    assert!(window.contains_rect(*a) && a.is_positive(), "{w}×{h}: {i}");
                    for (k, b) in all.iter().enumerate().skip(i + 1) {
                        assert!(!a.shrink(0.5).intersects(b.shrink(0.5)), "{w}×{h}: {i} and {k}");
                    }
                }
                assert!(p.chart.height() >= 200.0 && p.scene.height() >= 240.0, "{w}×{h}");
            }
        }
    }
}
