//! Colours by meaning for documents: ink on paper, and a blueprint for dark screens.
//!
//! A stylesheet names meanings only. A test holds every ink to the contrast that WCAG 2.2 asks of text
//! at level AA on every ground it may stand on.

use std::fmt::Write;

/// A meaning with its colour (0xRRGGBB) on light paper and on the dark blueprint.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Token {
    /// Name of the style variable.
    pub name: &'static str,
    /// On paper.
    pub light: u32,
    /// On a dark screen.
    pub dark: u32,
}

const fn token(name: &'static str, light: u32, dark: u32) -> Token {
    Token { name, light, dark }
}

/// Behind the sheet.
pub const GROUND: Token = token("ground", 0xEFEBE1, 0x16242E);
/// The sheet itself.
pub const SHEET: Token = token("sheet", 0xFBF9F3, 0x1D2F3B);
/// Lines of forms.
pub const RULE: Token = token("rule", 0xDAD3C3, 0x34495A);
/// Text and symbols.
pub const INK: Token = token("ink", 0x22313A, 0xE8E2D2);
/// Text of less weight.
pub const SECOND_INK: Token = token("second-ink", 0x566269, 0xA9B5BC);
/// The first pen: pressure; what a component earned.
pub const ACCENT: Token = token("accent", 0x0B5563, 0x7CC7D0);
/// The second pen, dashed: what was stated or expected.
pub const SECOND_PEN: Token = token("second-pen", 0xA6472B, 0xE79A7E);
/// The third pen: the belief that the evidence justifies.
pub const THIRD_PEN: Token = token("third-pen", 0x5B4B8A, 0xB7A8E6);
/// Chart paper.
pub const CHART: Token = token("chart", 0xFBF6EC, 0x1B2B36);
/// Its fine grid.
pub const FINE_GRID: Token = token("fine-grid", 0xF3E3D4, 0x22343F);
/// Its strong grid.
pub const STRONG_GRID: Token = token("strong-grid", 0xDDB79B, 0x3C5566);
/// A stretch of the chart that something rests on, and the range of a card.
pub const HIGHLIGHT: Token = token("highlight", 0xF3E2B8, 0x3F3A24);
/// With a triangle, never alone.
pub const CAUTION: Token = token("caution", 0x8F4A0D, 0xE0A15A);
/// With a cross, never alone.
pub const CRITICAL: Token = token("critical", 0x9C1C1C, 0xF08A80);

/// Every token.
pub const ALL: [Token; 14] = [
    GROUND,
    SHEET,
    RULE,
    INK,
    SECOND_INK,
    ACCENT,
    SECOND_PEN,
    THIRD_PEN,
    CHART,
    FINE_GRID,
    STRONG_GRID,
    HIGHLIGHT,
    CAUTION,
    CRITICAL,
];

/// The tokens as declarations of style variables: light, and dark for screens that ask for it. Paper is
/// always light.
pub fn style_variables() -> String {
    let block = |of: fn(&Token) -> u32| {
        ALL.iter().fold(String::new(), |mut text, token| {
            let _ = write!(text, "--{}:#{:06X};", token.name, of(token));
            text
        })
    };
    format!(
        ":root{{color-scheme:light;{}}}\n@media screen and (prefers-color-scheme:dark){{:root{{color-scheme:dark;{}}}}}\n",
        block(|t| t.light),
        block(|t| t.dark)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance after WCAG 2.2.
    fn luminance(colour: u32) -> f64 {
        let part = |shift: u32| {
            let c = f64::from((colour >> shift) & 0xFF) / 255.0;
            if c <= 0.040_45 { c / 12.92 } else { crate::ops::powf((c + 0.055) / 1.055, 2.4) }
        };
        0.2126 * part(16) + 0.7152 * part(8) + 0.0722 * part(0)
    }

    fn contrast(a: u32, b: u32) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn the_formula_gives_the_known_extremes() {
        assert!((contrast(0, 0xFFFFFF) - 21.0).abs() < 1e-9);
        assert!((contrast(0x777777, 0xFFFFFF) - 4.48).abs() < 0.01);
    }

    #[test]
    fn every_ink_is_legible_on_every_ground() {
        type Theme = (&'static str, fn(&Token) -> u32);
        let themes: [Theme; 2] = [("light", |t| t.light), ("dark", |t| t.dark)];
        for (theme, of) in themes {
            for ground in [GROUND, SHEET, CHART, HIGHLIGHT] {
                for ink in [INK, SECOND_INK, ACCENT, SECOND_PEN, THIRD_PEN, CAUTION, CRITICAL] {
                    let ratio = contrast(of(&ink), of(&ground));
                    assert!(ratio >= 4.5, "{theme}: {} on {} is {ratio:.2}", ink.name, ground.name);
                }
            }
        }
    }

    #[test]
    fn every_token_has_both_themes_in_the_style() {
        let style = style_variables();
        for token in ALL {
            assert_eq!(style.matches(&format!("--{}:", token.name)).count(), 2, "{}", token.name);
        }
    }
}
