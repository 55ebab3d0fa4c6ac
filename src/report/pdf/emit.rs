//! From a laid-out document to the bytes of a PDF.

use std::num::NonZeroU16;

use krilla::color::rgb;
use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{Path, PathBuilder, Point, Rect};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, BBox, ContentTag, Identifier, ListNumbering, TableHeaderScope, Tag, TagGroup, TagKind,
    TagTree,
};
use krilla::{Document as Pdf, SerializeSettings};

use super::PdfError;
use super::draw::{Bookmark, Draw, Item, Kind, Laid, Node};
use super::letters::Letters;
use super::sheet::PAGE;
use crate::report::document::Document;

/// Writes the pages, the structure and the bookmarks.
pub fn emit(document: &Document, laid: &Laid, letters: &Letters) -> Result<Vec<u8>, PdfError> {
    let rules = |what: &dyn std::fmt::Debug| PdfError::Rules(format!("{what:?}"));
    let configuration = ConfigurationBuilder::new()
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|e| rules(&e))?;
    let settings = SerializeSettings { configuration, enable_tagging: true, ..SerializeSettings::default() };
    let mut pdf = Pdf::new_with(settings);
    let mut leaves: Vec<Vec<Identifier>> = vec![vec![]; laid.leaves];
    for items in &laid.pages {
        let size = PageSettings::from_wh(PAGE.0 as f32, PAGE.1 as f32)
            .ok_or_else(|| PdfError::Rules("a page without size".to_owned()))?;
        let mut page = pdf.start_page_with(size);
        let mut surface = page.surface();
        for run in items.chunk_by(|a, b| a.leaf == b.leaf) {
            let leaf = run.first().and_then(|item| item.leaf);
            let tag = match leaf {
                Some(_) => ContentTag::Other,
                None => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
            };
            let id = surface.start_tagged(tag);
            for Item { draw, .. } in run {
                put(&mut surface, draw, letters);
            }
            surface.end_tagged();
            if let Some(ids) = leaf.and_then(|leaf| leaves.get_mut(leaf)) {
                ids.push(id);
            }
        }
        surface.finish();
        page.finish();
    }
    let mut tree = TagTree::new().with_lang(Some(document.lang.to_owned()));
    for node in &laid.tree {
        for part in grown(node, &leaves) {
            tree.push(part);
        }
    }
    pdf.set_tag_tree(tree);
    pdf.set_outline(outline(&laid.bookmarks));
    pdf.set_metadata(
        Metadata::new()
            .title(document.title.clone())
            .description(document.subtitle.clone())
            .language(document.lang.to_owned())
            .creator("Faultbay".to_owned())
            .document_id(document.foot.clone()),
    );
    pdf.finish().map_err(|e| rules(&e))
}

fn colour(hex: u32) -> rgb::Color {
    let [_, red, green, blue] = hex.to_be_bytes();
    rgb::Color::new(red, green, blue)
}

fn point(at: (f64, f64)) -> Point {
    Point::from_xy(at.0 as f32, at.1 as f32)
}

fn fill(hex: u32) -> Option<Fill> {
    Some(Fill { paint: colour(hex).into(), opacity: NormalizedF32::ONE, rule: Default::default() })
}

fn stroke(hex: u32, width: f64, dashed: bool) -> Option<Stroke> {
    let dash = dashed.then(|| StrokeDash { array: vec![3.0, 2.0], offset: 0.0 });
    Some(Stroke { paint: colour(hex).into(), width: width as f32, dash, ..Stroke::default() })
}

fn put(surface: &mut Surface<'_>, draw: &Draw, letters: &Letters) {
    match draw {
        Draw::Text { at, face, size, colour, text } => {
            surface.set_stroke(None);
            surface.set_fill(fill(*colour));
            let glyphs = letters.glyphs(*face, text);
            surface.draw_glyphs(point(*at), &glyphs, letters.font(*face), text, *size as f32, false);
        }
        Draw::Pen { stretches, colour, width, dashed } => {
            let mut path = PathBuilder::new();
            for stretch in stretches {
                for (i, &(x, y)) in stretch.iter().enumerate() {
                    if i == 0 { path.move_to(x as f32, y as f32) } else { path.line_to(x as f32, y as f32) }
                }
            }
            surface.set_fill(None);
            surface.set_stroke(stroke(*colour, *width, *dashed));
            draw_path(surface, path.finish());
        }
        Draw::Field { at, size, colour } => {
            let mut path = PathBuilder::new();
            if let Some(rect) = Rect::from_xywh(at.0 as f32, at.1 as f32, size.0 as f32, size.1 as f32) {
                path.push_rect(rect);
            }
            surface.set_stroke(None);
            surface.set_fill(fill(*colour));
            draw_path(surface, path.finish());
        }
        Draw::Dot { at, radius, colour, inside } => {
            surface.set_fill(fill(*inside));
            surface.set_stroke(stroke(*colour, 1.0, false));
            draw_path(surface, circle(*at, *radius));
        }
    }
}

fn draw_path(surface: &mut Surface<'_>, path: Option<Path>) {
    if let Some(path) = path {
        surface.draw_path(&path);
    }
}

fn circle((x, y): (f64, f64), r: f64) -> Option<Path> {
    // length of the handles with which four cubic curves come within 0.03 % of a circle
    const HANDLE: f64 = 0.552_285;
    let k = r * HANDLE;
    let mut path = PathBuilder::new();
    let p = |v: f64| v as f32;
    path.move_to(p(x + r), p(y));
    path.cubic_to(p(x + r), p(y + k), p(x + k), p(y + r), p(x), p(y + r));
    path.cubic_to(p(x - k), p(y + r), p(x - r), p(y + k), p(x - r), p(y));
    path.cubic_to(p(x - r), p(y - k), p(x - k), p(y - r), p(x), p(y - r));
    path.cubic_to(p(x + k), p(y - r), p(x + r), p(y - k), p(x + r), p(y));
    path.close();
    path.finish()
}

/// A part of the structure with the pieces that were drawn for it; a leaf over several pages has several.
fn grown(node: &Node, leaves: &[Vec<Identifier>]) -> Vec<krilla::tagging::Node> {
    match node {
        Node::Leaf(leaf) => leaves.get(*leaf).into_iter().flatten().map(|id| (*id).into()).collect(),
        Node::Group(kind, children) => {
            let children = children.iter().flat_map(|child| grown(child, leaves)).collect();
            vec![TagGroup::with_children(tag(kind), children).into()]
        }
    }
}

fn tag(kind: &Kind) -> TagKind {
    match kind {
        Kind::Section => Tag::Section.into(),
        Kind::Heading(level, words) => {
            Tag::Hn(NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN), Some(words.clone())).into()
        }
        Kind::Paragraph => Tag::P.into(),
        Kind::List => Tag::L(ListNumbering::None).into(),
        Kind::Item => Tag::LI.into(),
        Kind::Label => Tag::Lbl.into(),
        Kind::Body => Tag::LBody.into(),
        Kind::Table(caption) => Tag::Table.with_summary(Some(caption.clone())).into(),
        Kind::Head => Tag::THead.into(),
        Kind::Rows => Tag::TBody.into(),
        Kind::Row => Tag::TR.into(),
        Kind::ColumnHead => Tag::TH(TableHeaderScope::Column).into(),
        Kind::RowHead => Tag::TH(TableHeaderScope::Row).into(),
        Kind::Cell => Tag::TD.into(),
        Kind::Figure(alt, page, [left, top, right, bottom]) => {
            let rect = Rect::from_ltrb(*left as f32, *top as f32, *right as f32, *bottom as f32);
            Tag::Figure(Some(alt.clone())).with_bbox(rect.map(|rect| BBox::new(*page, rect))).into()
        }
    }
}

fn outline(bookmarks: &[Bookmark]) -> Outline {
    let mut outline = Outline::new();
    let node = |b: &Bookmark| {
        OutlineNode::new(b.text.clone(), XyzDestination::new(b.page, point((0.0, (b.y - 12.0).max(0.0)))))
    };
    for part in bookmarks.chunk_by(|_, next| next.level > 2) {
        let [first, rest @ ..] = part else { continue };
        let mut section = node(first);
        for bookmark in rest {
            section.push_child(node(bookmark));
        }
        outline.push_child(section);
    }
    outline
}
