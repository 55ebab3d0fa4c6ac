//! Lays a document out on pages.

use super::draw::{Bookmark, Draw, Item, Kind, Laid, Node};
use super::letters::{Face, Letters};
use crate::language::said;
use crate::report::document::{Block, Document, Holds, Section, Table, Tone};
use crate::report::figure::{Anchor, Figure, Ink, LETTER, Shape, WIDTH};
use crate::report::look;
use crate::tell;

/// A4, in points of 1/72 inch.
pub const PAGE: (f64, f64) = (595.276, 841.89);

const LEFT: f64 = 48.0;
const RIGHT: f64 = PAGE.0 - 48.0;
const TOP: f64 = 46.0;
const BOTTOM: f64 = PAGE.1 - 58.0;

/// How letters of a kind look.
#[derive(Clone, Copy)]
struct Style {
    face: Face,
    size: f64,
    colour: u32,
}

impl Style {
    const fn leading(self) -> f64 {
        1.36 * self.size
    }
}

const INK: u32 = look::INK.light;
const QUIET_INK: u32 = look::SECOND_INK.light;
const BODY: Style = Style { face: Face::Regular, size: 9.5, colour: INK };
const QUIET: Style = Style { face: Face::Regular, size: 9.0, colour: QUIET_INK };
const CELL: Style = Style { face: Face::Regular, size: 8.8, colour: INK };
const HEAD: Style = Style { face: Face::Regular, size: 8.4, colour: QUIET_INK };
const H1: Style = Style { face: Face::SemiBold, size: 18.0, colour: INK };
const H2: Style = Style { face: Face::SemiBold, size: 13.0, colour: INK };
const H3: Style = Style { face: Face::SemiBold, size: 10.0, colour: INK };
const FOOT: Style = Style { face: Face::Regular, size: 7.5, colour: QUIET_INK };

/// Lays the document out.
pub fn lay_out(document: &Document, letters: &Letters) -> Laid {
    let mut sheet = Sheet { letters, laid: Laid { pages: vec![vec![]], ..Laid::default() }, y: TOP };
    let title = sheet.heading(1, &document.title, H1);
    let subtitle = sheet.paragraph(LEFT, RIGHT - LEFT, &document.subtitle, QUIET);
    sheet.laid.tree.extend([title, subtitle]);
    let mut twins: Vec<&Figure> = vec![];
    for section in &document.sections {
        let node = sheet.section(section, &mut twins);
        sheet.laid.tree.push(node);
    }
    if !twins.is_empty() {
        let node = sheet.twins(&twins);
        sheet.laid.tree.push(node);
    }
    sheet.feet(&document.foot);
    sheet.laid
}

struct Sheet<'l> {
    letters: &'l Letters,
    laid: Laid,
    y: f64,
}

impl Sheet<'_> {
    fn page(&self) -> usize {
        self.laid.pages.len() - 1
    }

    fn new_page(&mut self) {
        self.laid.pages.push(vec![]);
        self.y = TOP;
    }

    /// Goes on to a new page unless so much room is left; what is higher than a page stays.
    fn room(&mut self, height: f64) {
        if self.y + height > BOTTOM && self.y > TOP {
            self.new_page();
        }
    }

    fn leaf(&mut self) -> usize {
        self.laid.leaves += 1;
        self.laid.leaves - 1
    }

    fn put(&mut self, leaf: Option<usize>, draw: Draw) {
        if let Some(page) = self.laid.pages.last_mut() {
            page.push(Item { leaf, draw });
        }
    }

    fn text(&mut self, leaf: Option<usize>, x: f64, base: f64, text: &str, style: Style) {
        let Style { face, size, colour } = style;
        self.put(leaf, Draw::Text { at: (x, base), face, size, colour, text: text.to_owned() });
    }

    fn rule(&mut self, from: (f64, f64), to: (f64, f64), colour: u32, width: f64) {
        self.put(None, Draw::Pen { stretches: vec![vec![from, to]], colour, width, dashed: false });
    }

    /// Text in lines, over the end of the page where need be; its leaf.
    fn flow(&mut self, x: f64, width: f64, text: &str, style: Style) -> usize {
        let leaf = self.leaf();
        for line in self.letters.lines(style.face, style.size, text, width) {
            self.room(style.leading());
            self.text(Some(leaf), x, self.y + style.size, &line, style);
            self.y += style.leading();
        }
        leaf
    }

    fn paragraph(&mut self, x: f64, width: f64, text: &str, style: Style) -> Node {
        let leaf = self.flow(x, width, text, style);
        self.y += 3.0;
        Node::Group(Kind::Paragraph, vec![Node::Leaf(leaf)])
    }

    fn heading(&mut self, level: u16, text: &str, style: Style) -> Node {
        // a heading doesn't stand alone at the foot of a page
        self.room(style.leading() + if level > 2 { 64.0 } else { 118.0 });
        if level > 1 {
            self.laid.bookmarks.push(Bookmark { level, text: text.to_owned(), page: self.page(), y: self.y });
        }
        let leaf = self.flow(LEFT, RIGHT - LEFT, text, style);
        self.y += 2.0;
        Node::Group(Kind::Heading(level, text.to_owned()), vec![Node::Leaf(leaf)])
    }

    fn section<'d>(&mut self, section: &'d Section, twins: &mut Vec<&'d Figure>) -> Node {
        if section.own_page && self.y > TOP {
            self.new_page();
        }
        let mut parts = vec![self.section_head(&section.title)];
        let mut headed = false;
        for block in &section.blocks {
            if let (Block::Table(table), false) = (block, headed) {
                self.room(QUIET.leading() + 60.0);
                parts.push(self.paragraph(LEFT, RIGHT - LEFT, &table.caption, QUIET));
            }
            // a table right under a heading is named by it
            headed = matches!(block, Block::Heading { .. });
            parts.extend(self.block(block));
            if let Block::Figure(figure) = block {
                twins.push(figure);
            }
        }
        Node::Group(Kind::Section, parts)
    }

    fn section_head(&mut self, title: &str) -> Node {
        if self.y > TOP {
            self.y += 16.0;
        }
        self.room(H2.leading() + 124.0);
        self.rule((LEFT, self.y), (RIGHT, self.y), INK, 1.2);
        self.y += 6.0;
        self.heading(2, title, H2)
    }

    /// The numbers behind every figure, at the end.
    fn twins(&mut self, twins: &[&Figure]) -> Node {
        let mut parts = vec![self.section_head(said("report-figures-in-numbers"))];
        for figure in twins {
            parts.push(self.heading(3, &figure.title, H3));
            parts.push(self.table(&figure.table, true));
        }
        Node::Group(Kind::Section, parts)
    }

    fn block(&mut self, block: &Block) -> Vec<Node> {
        let width = RIGHT - LEFT;
        match block {
            Block::Heading { text } => {
                self.y += 7.0;
                vec![self.heading(3, text, H3)]
            }
            Block::Text { tone, word, text } => vec![self.toned(*tone, word, text)],
            Block::Result { figure, of, text } => {
                self.room(40.0);
                let leaf = self.leaf();
                let large = Style { size: 28.0, ..H1 };
                self.text(Some(leaf), LEFT, self.y + large.size, figure, large);
                let x = LEFT + self.letters.width(large.face, large.size, figure) + 6.0;
                let base = self.y + large.size;
                let of = format!(" {of}. ");
                self.text(Some(leaf), x, base, &of, BODY);
                self.y += large.size - BODY.size;
                let after = x + self.letters.width(BODY.face, BODY.size, &of);
                let strong = Style { face: Face::SemiBold, ..BODY };
                for line in self.letters.lines(strong.face, strong.size, text, (RIGHT - after).max(60.0)) {
                    self.text(Some(leaf), after, self.y + strong.size, &line, strong);
                    self.y += strong.leading();
                }
                self.y += 5.0;
                vec![Node::Group(Kind::Paragraph, vec![Node::Leaf(leaf)])]
            }
            Block::List { items } => {
                let nodes = items.iter().map(|item| self.item("·", 10.0, item)).collect();
                self.y += 3.0;
                vec![Node::Group(Kind::List, nodes)]
            }
            Block::Facts { rows } => {
                let nodes = rows.iter().map(|(name, value)| self.fact(name, value)).collect();
                self.y += 5.0;
                vec![Node::Group(Kind::List, nodes)]
            }
            Block::Table(table) => vec![self.table(table, false)],
            Block::Figure(figure) => self.figure(figure),
            Block::Form { rows } => rows.iter().map(|(what, lines)| self.form(what, *lines, width)).collect(),
        }
    }

    fn toned(&mut self, tone: Tone, word: &str, text: &str) -> Node {
        const PAD: f64 = 7.0;
        let width = RIGHT - LEFT;
        let colour = match tone {
            Tone::Plain => return self.paragraph(LEFT, width, text, BODY),
            Tone::Quiet => return self.paragraph(LEFT, width, text, QUIET),
            Tone::Note => INK,
            Tone::Caution => look::CAUTION.light,
            Tone::Critical => look::CRITICAL.light,
        };
        let style = Style { colour, ..BODY };
        let words = format!("{word}: {text}");
        let lines = self.letters.lines(style.face, style.size, &words, width - 2.0 * PAD).len();
        let height = style.leading() * lines as f64 + 2.0 * PAD - 2.0;
        self.y += 3.0;
        self.room(height);
        let (top, bottom) = (self.y, self.y + height);
        let frame = vec![vec![(LEFT, top), (RIGHT, top), (RIGHT, bottom), (LEFT, bottom), (LEFT, top)]];
        if bottom <= BOTTOM {
            self.put(None, Draw::Pen { stretches: frame, colour, width: 0.9, dashed: false });
        }
        self.y += PAD - 1.0;
        let leaf = self.flow(LEFT + PAD, width - 2.0 * PAD, &words, style);
        self.y = if bottom <= BOTTOM { bottom + 5.0 } else { self.y + 5.0 };
        Node::Group(Kind::Paragraph, vec![Node::Leaf(leaf)])
    }

    fn item(&mut self, sign: &str, indent: f64, text: &str) -> Node {
        self.room(BODY.leading());
        let label = self.leaf();
        self.text(Some(label), LEFT, self.y + BODY.size, &format!("{sign} "), BODY);
        let body = self.flow(LEFT + indent, RIGHT - LEFT - indent, text, BODY);
        Node::Group(
            Kind::Item,
            vec![
                Node::Group(Kind::Label, vec![Node::Leaf(label)]),
                Node::Group(Kind::Body, vec![Node::Leaf(body)]),
            ],
        )
    }

    fn fact(&mut self, name: &str, value: &str) -> Node {
        const NAMES: f64 = 142.0;
        let lines = self.letters.lines(BODY.face, BODY.size, value, RIGHT - LEFT - NAMES).len();
        let names = self.letters.lines(BODY.face, BODY.size, name, NAMES - 8.0);
        self.room(BODY.leading() * lines.max(names.len()).min(40) as f64 + 4.0);
        self.y += 2.0;
        let (top, page) = (self.y, self.page());
        let label = self.leaf();
        let quiet = Style { colour: QUIET_INK, ..BODY };
        for (i, line) in names.iter().enumerate() {
            self.text(Some(label), LEFT, top + quiet.size + quiet.leading() * i as f64, line, quiet);
        }
        let body = self.flow(LEFT + NAMES, RIGHT - LEFT - NAMES, value, BODY);
        if self.page() == page {
            self.y = self.y.max(top + quiet.leading() * names.len() as f64);
        }
        self.y += 1.5;
        self.rule((LEFT, self.y), (RIGHT, self.y), look::RULE.light, 0.5);
        Node::Group(
            Kind::Item,
            vec![
                Node::Group(Kind::Label, vec![Node::Leaf(label)]),
                Node::Group(Kind::Body, vec![Node::Leaf(body)]),
            ],
        )
    }

    fn form(&mut self, what: &str, lines: u8, width: f64) -> Node {
        const LINE: f64 = 26.0;
        const NAMES: f64 = 170.0;
        self.room(LINE * f64::from(lines) + 8.0);
        self.y += 8.0;
        let leaf = self.leaf();
        let names = self.letters.lines(BODY.face, BODY.size, what, NAMES - 10.0);
        for (i, line) in names.iter().enumerate() {
            let base = self.y + LINE - 5.0 + BODY.leading() * (i as f64 + 1.0 - names.len() as f64);
            self.text(Some(leaf), LEFT, base, line, BODY);
        }
        for _ in 0..lines {
            self.y += LINE;
            self.rule((LEFT + NAMES, self.y), (LEFT + width, self.y), QUIET_INK, 0.7);
        }
        Node::Group(Kind::Paragraph, vec![Node::Leaf(leaf)])
    }

    fn feet(&mut self, foot: &str) {
        let pages = self.laid.pages.len();
        for i in 0..pages {
            let number = tell!("report-page", page = i + 1, pages = pages);
            let x = RIGHT - self.letters.width(FOOT.face, FOOT.size, &number);
            let lines = self.letters.lines(FOOT.face, FOOT.size, foot, x - LEFT - 16.0);
            for (at, text) in [(LEFT, lines.first().map_or("", String::as_str)), (x, number.as_str())] {
                let Style { face, size, colour } = FOOT;
                let draw = Draw::Text { at: (at, PAGE.1 - 32.0), face, size, colour, text: text.to_owned() };
                self.laid.pages[i].push(Item { leaf: None, draw });
            }
        }
    }

    // ---- tables -----------------------------------------------------------------------------

    fn table(&mut self, table: &Table, small: bool) -> Node {
        const GUTTER: f64 = 9.0;
        let sum: f64 = table.columns.iter().map(|c| c.width).sum();
        let usable = RIGHT - LEFT - GUTTER * (table.columns.len().max(1) - 1) as f64;
        let mut x = LEFT;
        let places: Vec<(f64, f64)> = table
            .columns
            .iter()
            .map(|c| {
                let place = (x, usable * c.width / sum.max(1e-9));
                x += place.1 + GUTTER;
                place
            })
            .collect();
        let style = if small { Style { size: 8.0, ..CELL } } else { CELL };
        self.y += 2.0;
        self.room(HEAD.leading() + 3.0 * style.leading());
        let head = self.table_head(table, &places, true);
        let mut rows = vec![];
        for row in &table.rows {
            let cells: Vec<Vec<String>> = row
                .iter()
                .zip(&places)
                .zip(&table.columns)
                .map(|((cell, place), column)| {
                    let width = if column.holds == Holds::Bar { place.1 - 30.0 } else { place.1 };
                    self.letters.lines(style.face, style.size, &cell.text, width.max(8.0))
                })
                .collect();
            let nodes = self.row(table, row, &cells, &places, style);
            rows.push(Node::Group(Kind::Row, nodes));
        }
        self.y += 5.0;
        let mut parts = vec![Node::Group(Kind::Head, vec![Node::Group(Kind::Row, head)])];
        if !rows.is_empty() {
            parts.push(Node::Group(Kind::Rows, rows));
        }
        Node::Group(Kind::Table(table.caption.clone()), parts)
    }

    /// The headings of the columns: the table's own, or their repetition on a further page, which is
    /// ornament.
    fn table_head(&mut self, table: &Table, places: &[(f64, f64)], own: bool) -> Vec<Node> {
        let titles: Vec<Vec<String>> = table
            .columns
            .iter()
            .zip(places)
            .map(|(c, place)| self.letters.lines(HEAD.face, HEAD.size, &c.title, place.1))
            .collect();
        let height = titles.iter().map(Vec::len).max().unwrap_or(1) as f64;
        let bottom = self.y + HEAD.leading() * height;
        let mut nodes = vec![];
        for ((lines, place), column) in titles.iter().zip(places).zip(&table.columns) {
            let leaf = own.then(|| self.leaf());
            for (i, line) in lines.iter().rev().enumerate() {
                let base = bottom - 0.36 * HEAD.size - HEAD.leading() * i as f64;
                let x = self.aligned(column.holds, *place, line, HEAD);
                self.text(leaf, x, base, line, HEAD);
            }
            nodes.extend(leaf.map(|leaf| Node::Group(Kind::ColumnHead, vec![Node::Leaf(leaf)])));
        }
        self.y = bottom + 2.0;
        nodes
    }

    fn aligned(&self, holds: Holds, place: (f64, f64), line: &str, style: Style) -> f64 {
        match holds {
            Holds::Figures => place.0 + place.1 - self.letters.width(style.face, style.size, line.trim_end()),
            Holds::Words | Holds::Bar => place.0,
        }
    }

    /// A row; one that doesn't fit goes to the next page, one higher than a page is cut between lines.
    fn row(
        &mut self,
        table: &Table,
        row: &[crate::report::document::Cell],
        cells: &[Vec<String>],
        places: &[(f64, f64)],
        style: Style,
    ) -> Vec<Node> {
        const PAD: f64 = 2.6;
        let longest = cells.iter().map(Vec::len).max().unwrap_or(1);
        let leaves: Vec<usize> = cells.iter().map(|_| self.leaf()).collect();
        let mut from = 0;
        while from < longest {
            let left = longest - from;
            let fits = |y: f64| ((BOTTOM - y - 2.0 * PAD) / style.leading()).floor().max(0.0) as usize;
            let whole_page = fits(TOP + 2.0 * HEAD.leading());
            if fits(self.y) < left.min(whole_page) && self.y > TOP {
                self.new_page();
                self.table_head(table, places, false);
            }
            let here = left.min(fits(self.y).max(1));
            self.rule((LEFT, self.y), (RIGHT, self.y), look::RULE.light, 0.5);
            for (k, lines) in cells.iter().enumerate() {
                let (place, holds) = (places[k], table.columns[k].holds);
                if let (Some(share), 0) = (row[k].bar, from) {
                    self.bar(place, share, style);
                }
                for (i, line) in lines.iter().skip(from).take(here).enumerate() {
                    let base = self.y + PAD + style.size + style.leading() * i as f64;
                    let mut x = self.aligned(holds, place, line, style);
                    if holds == Holds::Bar {
                        x = place.0 + place.1 - self.letters.width(style.face, style.size, line);
                    }
                    self.text(Some(leaves[k]), x, base, line, style);
                }
            }
            self.y += style.leading() * here as f64 + 2.0 * PAD;
            from += here;
        }
        leaves
            .into_iter()
            .enumerate()
            .map(|(k, leaf)| {
                let kind = if k == 0 { Kind::RowHead } else { Kind::Cell };
                Node::Group(kind, vec![Node::Leaf(leaf)])
            })
            .collect()
    }

    fn bar(&mut self, place: (f64, f64), share: f64, style: Style) {
        let (at, wide) = ((place.0, self.y + 2.6 + 0.3 * style.size), (place.1 - 30.0).max(4.0));
        self.put(None, Draw::Field { at, size: (wide, 6.0), colour: look::RULE.light });
        if share > 0.0 {
            let colour = look::ACCENT.light;
            self.put(None, Draw::Field { at, size: (wide * share, 6.0), colour });
        }
    }

    // ---- figures ----------------------------------------------------------------------------

    fn figure(&mut self, figure: &Figure) -> Vec<Node> {
        let body = BOTTOM - TOP - 60.0;
        let scale = ((RIGHT - LEFT) / WIDTH).min(body / figure.height.max(1.0));
        let height = scale * figure.height;
        self.y += 8.0;
        self.room(H3.leading() + height + 14.0);
        let title = self.paragraph(LEFT, RIGHT - LEFT, &figure.title, H3);
        let (left, top) = (LEFT, self.y);
        let leaf = self.leaf();
        for shape in &figure.shapes {
            if let Some(draw) = self.drawn(shape, scale, (left, top)) {
                self.put(Some(leaf), draw);
            }
        }
        let rect = [left, top, left + scale * WIDTH, top + height];
        let alt = format!("{}. {}", figure.title, figure.words);
        let picture = Node::Group(Kind::Figure(alt, self.page(), rect), vec![Node::Leaf(leaf)]);
        self.y += height + 3.0;
        let words = self.paragraph(LEFT, RIGHT - LEFT, &figure.words, QUIET);
        vec![title, picture, words]
    }

    fn drawn(&self, shape: &Shape, scale: f64, origin: (f64, f64)) -> Option<Draw> {
        let at = |(x, y): (f64, f64)| (origin.0 + scale * x, origin.1 + scale * y);
        let pen = |stretches: Vec<Vec<(f64, f64)>>, ink: Ink| {
            let (colour, width, dashed) = pen(ink);
            let stretches: Vec<Vec<(f64, f64)>> =
                stretches.into_iter().map(|s| s.into_iter().map(at).collect()).collect();
            (!stretches.is_empty()).then_some(Draw::Pen { stretches, colour, width: width * scale, dashed })
        };
        match shape {
            Shape::Line { from, to, ink } => pen(vec![vec![*from, *to]], *ink),
            Shape::Path { stretches, ink } => {
                pen(stretches.iter().filter(|s| s.len() > 1).cloned().collect(), *ink)
            }
            Shape::Field { at: corner, size, ink } => {
                let colour = if *ink == Ink::Paper { look::CHART.light } else { look::HIGHLIGHT.light };
                let size = (scale * size.0, scale * size.1);
                (size.0 > 0.0 && size.1 > 0.0).then(|| Draw::Field { at: at(*corner), size, colour })
            }
            Shape::Dot { at: middle, filled, ink } => {
                let colour = pen_colour(*ink);
                let inside = if *filled { colour } else { look::CHART.light };
                Some(Draw::Dot { at: at(*middle), radius: 4.0 * scale, colour, inside })
            }
            Shape::Text { at: place, anchor, text, ink } => {
                let (face, size) = (Face::Regular, LETTER * scale);
                let width = self.letters.width(face, size, text);
                let (x, y) = at(*place);
                let x = match anchor {
                    Anchor::Start => x,
                    Anchor::Middle => x - width / 2.0,
                    Anchor::End => x - width,
                };
                Some(Draw::Text { at: (x, y), face, size, colour: pen_colour(*ink), text: text.clone() })
            }
        }
    }
}

/// Colour, width and dashes of a pen, as the stylesheet has them.
fn pen(ink: Ink) -> (u32, f64, bool) {
    let width = match ink {
        Ink::Grid => 0.5,
        Ink::Measured => 1.4,
        Ink::Stated => 1.6,
        Ink::Justified => 1.8,
        _ => 0.8,
    };
    (pen_colour(ink), width, ink == Ink::Stated)
}

fn pen_colour(ink: Ink) -> u32 {
    match ink {
        Ink::Paper => look::CHART.light,
        Ink::Field => look::HIGHLIGHT.light,
        Ink::Grid => look::STRONG_GRID.light,
        Ink::Axis | Ink::Beside | Ink::Quiet => look::SECOND_INK.light,
        Ink::Moment | Ink::Word => look::INK.light,
        Ink::Measured => look::ACCENT.light,
        Ink::Stated => look::SECOND_PEN.light,
        Ink::Justified => look::THIRD_PEN.light,
    }
}
