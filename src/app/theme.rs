//! Fonts and egui's visuals from the tokens.

use std::sync::Arc;

use bevy_egui::egui::{
    self, Color32, Context, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, RichText, Stroke,
    TextStyle, Ui, Vec2,
};

use super::tokens::Tokens;
use crate::report::pdf::letters::{REGULAR, SEMI_BOLD};

/// The one corner radius.
pub const RADIUS: u8 = 4;
/// Least height and width of anything that can be pressed.
pub const TARGET: f32 = 32.0;

const NEXT_ITALIC: &[u8] = include_bytes!("../../assets/fonts/AtkinsonHyperlegibleNext-Italic.ttf");
const MONO: &[u8] = include_bytes!("../../assets/fonts/AtkinsonHyperlegibleMono-Regular.ttf");
const MONO_BOLD: &[u8] = include_bytes!("../../assets/fonts/AtkinsonHyperlegibleMono-Bold.ttf");

fn named(name: &str) -> FontFamily {
    FontFamily::Name(name.into())
}

/// Text.
pub fn regular(size: f32) -> FontId {
    FontId::new(size, FontFamily::Proportional)
}
/// Text of weight.
pub fn semibold(size: f32) -> FontId {
    FontId::new(size, named("semibold"))
}
/// Remarks, and what people say.
pub fn italic(size: f32) -> FontId {
    FontId::new(size, named("italic"))
}
/// Figures.
pub fn figures(size: f32) -> FontId {
    FontId::new(size, FontFamily::Monospace)
}
/// Figures of weight.
pub fn bold_figures(size: f32) -> FontId {
    FontId::new(size, named("bold-figures"))
}

/// Draws every letter that changing text may need into the atlas at once: a letter that is new in a
/// frame would be missing in that frame, and for longer in a window that rests.
pub fn warm(ctx: &Context) {
    const LETTERS: &str = concat!(
        " !\"#%&'()*+,-./0123456789:;=?ABCDEFGHIJKLMNOPQRSTUVWXYZ",
        "abcdefghijklmnopqrstuvwxyz\u{2212}\u{2026}\u{b1}\u{b7}\u{b0}\u{d7}\u{2264}\u{2265}\u{201c}\u{201d}\u{201e}\u{2019}\u{e4}\u{f6}\u{fc}\u{c4}\u{d6}\u{dc}\u{df}",
    );
    const NUMBERS: &str =
        " %+,-./0123456789:<>abcdehiklmnoprstuvx\u{2212}\u{2026}\u{b1}\u{b7}\u{b0}\u{2264}\u{2265}";
    // as they are used: every size of every font would fill an atlas of twice the size, which is held several times over
    type Sizes = (fn(f32) -> FontId, &'static str, &'static [f32]);
    const USED: [Sizes; 5] = [
        (regular, LETTERS, &[11.0, 11.5, 12.0, 12.5, 13.0, 13.5, 14.0, 14.5, 15.0]),
        (semibold, LETTERS, &[11.0, 11.5, 12.0, 12.5, 13.0, 13.5, 14.0, 14.5, 16.0, 16.5]),
        (italic, LETTERS, &[11.0, 11.5, 12.0, 12.5, 13.0, 13.5, 14.0]),
        (figures, NUMBERS, &[11.0, 11.5, 12.0, 12.5, 13.0, 13.5, 14.0]),
        (bold_figures, NUMBERS, &[12.0, 12.5, 13.0, 13.5, 14.5, 15.0, 15.5, 16.0, 18.0]),
    ];
    ctx.fonts_mut(|fonts| {
        for (font, letters, sizes) in USED {
            for size in sizes {
                fonts.layout_no_wrap(letters.to_owned(), font(*size), Color32::BLACK);
            }
        }
    });
}

/// Hands the fonts to egui; they can be used from the next frame on.
pub fn install_fonts(ctx: &Context) {
    let mut fonts = FontDefinitions::empty();
    for (name, bytes) in [
        ("next", REGULAR),
        ("next-semibold", SEMI_BOLD),
        ("next-italic", NEXT_ITALIC),
        ("mono", MONO),
        ("mono-bold", MONO_BOLD),
    ] {
        // each letter at whole pixels only: in quarters of a pixel it would be four, and [`warm`] would miss three
        let mut font = FontData::from_static(bytes);
        font.tweak.subpixel_binning = Some(false);
        fonts.font_data.insert(name.to_owned(), Arc::new(font));
    }
    for (family, name) in [
        (FontFamily::Proportional, "next"),
        (FontFamily::Monospace, "mono"),
        (named("semibold"), "next-semibold"),
        (named("italic"), "next-italic"),
        (named("bold-figures"), "mono-bold"),
    ] {
        fonts.families.insert(family, vec![name.to_owned()]);
    }
    ctx.set_fonts(fonts);
}

/// The tokens in force.
pub fn tokens(ui: &Ui) -> &'static Tokens {
    Tokens::on_ground(ui.visuals().panel_fill, ui.visuals().dark_mode)
}

/// Sets egui's visuals and measures for a theme: dark, high contrast, reduced motion.
pub fn apply(ctx: &Context, (dark, high_contrast, reduced_motion): (bool, bool, bool)) {
    let t = Tokens::of(dark, high_contrast);
    ctx.set_theme(if dark { egui::Theme::Dark } else { egui::Theme::Light });
    ctx.all_styles_mut(|style| {
        style.text_styles = [
            (TextStyle::Small, regular(12.0)),
            (TextStyle::Body, regular(14.0)),
            (TextStyle::Button, regular(14.0)),
            (TextStyle::Heading, semibold(17.0)),
            (TextStyle::Monospace, figures(14.0)),
        ]
        .into();
        style.drag_value_text_style = TextStyle::Monospace;
        if reduced_motion {
            style.animation_time = 0.0;
        }
        let s = &mut style.spacing;
        s.item_spacing = Vec2::new(8.0, 6.0);
        s.button_padding = Vec2::new(10.0, 6.0);
        s.interact_size = Vec2::new(TARGET, TARGET);
        s.icon_width = 18.0;
        s.icon_width_inner = 10.0;
        s.combo_width = 96.0;
        s.window_margin = egui::Margin::same(18);
        s.menu_margin = egui::Margin::same(6);
        s.scroll.bar_width = 8.0;
        // in linear light a fade comes out as a grey shadow: an edge is ruled instead (`widgets::edges`)
        s.scroll.fade.strength = 0.0;
        // always visible, but quiet
        s.scroll.floating_allocated_width = 12.0;
        s.scroll.floating_width = 6.0;
        s.scroll.dormant_handle_opacity = 0.35;
        s.scroll.active_handle_opacity = 0.5;
        s.scroll.interact_handle_opacity = 0.8;
        let v = &mut style.visuals;
        v.dark_mode = dark;
        v.override_text_color = Some(t.ink);
        v.weak_text_color = Some(t.second_ink);
        v.panel_fill = t.ground;
        v.window_fill = t.sheet;
        v.window_stroke = Stroke::new(1.0, t.faint);
        v.window_corner_radius = CornerRadius::same(RADIUS);
        v.menu_corner_radius = CornerRadius::same(RADIUS);
        v.window_shadow = egui::Shadow::NONE;
        v.popup_shadow = egui::Shadow::NONE;
        v.extreme_bg_color = t.chart;
        v.text_edit_bg_color = Some(t.chart);
        v.faint_bg_color = t.highlight;
        v.code_bg_color = t.ground;
        v.hyperlink_color = t.accent;
        v.warn_fg_color = t.caution;
        v.error_fg_color = t.critical;
        // what is disabled is drawn in other colours: the window blends in linear light, where half of a light colour over
        // another comes out grey, and heavier than what can be pressed
        v.disabled_alpha = 1.0;
        v.selection.bg_fill = t.highlight;
        v.selection.stroke = Stroke::new(2.0, t.accent);
        v.slider_trailing_fill = true;
        let w = &mut v.widgets;
        for (state, fill, stroke) in [
            (&mut w.noninteractive, t.sheet, Stroke::new(1.0, t.rule)),
            (&mut w.inactive, t.sheet, Stroke::new(1.0, t.faint)),
            (&mut w.hovered, t.ground, Stroke::new(1.0, t.ink)),
            (&mut w.active, t.ground, Stroke::new(2.0, t.accent)),
            (&mut w.open, t.ground, Stroke::new(1.0, t.ink)),
        ] {
            state.bg_fill = fill;
            state.weak_bg_fill = fill;
            state.bg_stroke = stroke;
            state.fg_stroke = Stroke::new(1.5, t.ink);
            state.corner_radius = CornerRadius::same(RADIUS);
            state.expansion = 0.0;
        }
    });
}

/// Text of less weight.
pub fn quiet(ui: &Ui, text: impl Into<String>) -> RichText {
    RichText::new(text).font(regular(12.5)).color(tokens(ui).second_ink)
}

/// A heading inside a sheet.
pub fn heading(text: impl Into<String>) -> RichText {
    RichText::new(text).font(semibold(14.5))
}

/// A small remark in italics.
pub fn remark(ui: &Ui, text: impl Into<String>) -> RichText {
    RichText::new(text).font(italic(12.5)).color(tokens(ui).second_ink)
}

/// A colour between two others: `share` of the second.
pub fn mixed(from: Color32, to: Color32, share: f32) -> Color32 {
    from.lerp_to_gamma(to, share)
}

/// The same colour, let through.
pub fn faded(colour: Color32, share: f32) -> Color32 {
    colour.gamma_multiply(share)
}
