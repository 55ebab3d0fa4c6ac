//! Colours by meaning, for light paper and for blueprint, each also in high contrast.
//!
//! No view names a colour of its own. A test holds every pair of ink and ground that the views use
//! to the contrast that WCAG 2.2 asks of text at level AA.

use bevy_egui::egui::Color32;

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

/// Light in bubbles: lighter than any fuel, and the same on paper and on blueprint, as fuel is.
pub const LIGHT: Color32 = rgb(0xFFF8E6);
/// Edge of bubbles.
pub const EDGE: Color32 = rgb(0x5A4112);

/// One colour for each meaning.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tokens {
    /// Behind the sheets.
    pub ground: Color32,
    /// Of the sheets.
    pub sheet: Color32,
    /// Lines of forms.
    pub rule: Color32,
    /// Outline of the vehicle.
    pub faint: Color32,
    /// Text and symbols.
    pub ink: Color32,
    /// Text of less weight.
    pub second_ink: Color32,
    /// Pressure, selection, "within".
    pub accent: Color32,
    /// Text on a field of the accent.
    pub on_accent: Color32,
    /// Second pen: engine speed.
    pub second_pen: Color32,
    /// Third pen: justified belief, cursors.
    pub third_pen: Color32,
    /// Chart paper.
    pub chart: Color32,
    /// Its fine grid.
    pub fine_grid: Color32,
    /// Its strong grid.
    pub strong_grid: Color32,
    /// Diesel in glass and lines.
    pub diesel: Color32,
    /// Petrol in glass and lines.
    pub petrol: Color32,
    /// Dyed diesel in glass and lines.
    pub dyed: Color32,
    /// Water in glass and lines.
    pub water: Color32,
    /// The row being worked on.
    pub highlight: Color32,
    /// With a triangle, never alone.
    pub caution: Color32,
    /// With a cross, never alone.
    pub critical: Color32,
}

/// Ink on paper.
pub const PAPER: Tokens = Tokens {
    ground: rgb(0xEFEBE1),
    sheet: rgb(0xFBF9F3),
    rule: rgb(0xDAD3C3),
    faint: rgb(0xB9B2A3),
    ink: rgb(0x22313A),
    second_ink: rgb(0x566269),
    accent: rgb(0x0B5563),
    on_accent: rgb(0xFBF9F3),
    second_pen: rgb(0xA6472B),
    third_pen: rgb(0x5B4B8A),
    chart: rgb(0xFBF6EC),
    fine_grid: rgb(0xF3E3D4),
    strong_grid: rgb(0xDDB79B),
    diesel: rgb(0xD39A2B),
    petrol: rgb(0xE9DDA0),
    dyed: rgb(0xB5483E),
    water: rgb(0x8FB8CF),
    highlight: rgb(0xF3E2B8),
    caution: rgb(0x8F4A0D),
    critical: rgb(0x9C1C1C),
};

/// A blueprint in the evening.
pub const BLUEPRINT: Tokens = Tokens {
    ground: rgb(0x16242E),
    sheet: rgb(0x1D2F3B),
    rule: rgb(0x34495A),
    faint: rgb(0x4F6475),
    ink: rgb(0xE8E2D2),
    second_ink: rgb(0xA9B5BC),
    accent: rgb(0x7CC7D0),
    on_accent: rgb(0x16242E),
    second_pen: rgb(0xE79A7E),
    third_pen: rgb(0xB7A8E6),
    chart: rgb(0x1B2B36),
    fine_grid: rgb(0x22343F),
    strong_grid: rgb(0x3C5566),
    diesel: rgb(0xBE8B27),
    petrol: rgb(0xD2C790),
    dyed: rgb(0xA8453B),
    water: rgb(0x81A6BA),
    highlight: rgb(0x3F3A24),
    caution: rgb(0xE0A15A),
    critical: rgb(0xF08A80),
};

/// Black on white: every ink stands out by 7 to 1, every line by 3 to 1.
pub const PAPER_HIGH: Tokens = Tokens {
    ground: rgb(0xFFFFFF),
    sheet: rgb(0xFFFFFF),
    rule: rgb(0x767676),
    faint: rgb(0x4A4A4A),
    ink: rgb(0x000000),
    second_ink: rgb(0x222222),
    accent: rgb(0x003B47),
    on_accent: rgb(0xFFFFFF),
    second_pen: rgb(0x7A1F00),
    third_pen: rgb(0x3A1A7A),
    chart: rgb(0xFFFFFF),
    fine_grid: rgb(0xE4E4E4),
    strong_grid: rgb(0x8A8A8A),
    diesel: rgb(0xC98A00),
    petrol: rgb(0xE6D36A),
    dyed: rgb(0xB23A2E),
    water: rgb(0x5B9CC2),
    highlight: rgb(0xFFE98A),
    caution: rgb(0x6B3300),
    critical: rgb(0x7A0000),
};

/// White on black, as strong.
pub const BLUEPRINT_HIGH: Tokens = Tokens {
    ground: rgb(0x000000),
    sheet: rgb(0x000000),
    rule: rgb(0x8C8C8C),
    faint: rgb(0xC4C4C4),
    ink: rgb(0xFFFFFF),
    second_ink: rgb(0xE4E4E4),
    accent: rgb(0x8FE9F5),
    on_accent: rgb(0x000000),
    second_pen: rgb(0xFFB199),
    third_pen: rgb(0xD2C4FF),
    chart: rgb(0x000000),
    fine_grid: rgb(0x2A2A2A),
    strong_grid: rgb(0x6E6E6E),
    diesel: rgb(0xE0A52E),
    petrol: rgb(0xF0E49A),
    dyed: rgb(0xC9564A),
    water: rgb(0x8FC4E0),
    highlight: rgb(0x332B00),
    caution: rgb(0xFFC27A),
    critical: rgb(0xFFA8A0),
};

impl Tokens {
    /// The table for a theme.
    pub const fn of(dark: bool, high_contrast: bool) -> &'static Self {
        match (dark, high_contrast) {
            (false, false) => &PAPER,
            (true, false) => &BLUEPRINT,
            (false, true) => &PAPER_HIGH,
            (true, true) => &BLUEPRINT_HIGH,
        }
    }

    /// The table whose ground this is: each has one of its own.
    pub fn on_ground(ground: Color32, dark: bool) -> &'static Self {
        let all = [&PAPER, &BLUEPRINT, &PAPER_HIGH, &BLUEPRINT_HIGH];
        all.into_iter().find(|t| t.ground == ground).unwrap_or(Self::of(dark, false))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance after WCAG 2.2.
    fn luminance(colour: Color32) -> f64 {
        let part = |byte: u8| {
            let c = f64::from(byte) / 255.0;
            if c <= 0.040_45 { c / 12.92 } else { crate::ops::powf((c + 0.055) / 1.055, 2.4) }
        };
        0.2126 * part(colour.r()) + 0.7152 * part(colour.g()) + 0.0722 * part(colour.b())
    }

    fn contrast(a: Color32, b: Color32) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn the_formula_gives_the_known_extremes() {
        assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
        assert!((contrast(rgb(0x777777), Color32::WHITE) - 4.48).abs() < 0.01);
    }

    #[test]
    fn every_ink_is_legible_on_every_ground() {
        let all = [
            ("paper", &PAPER, 4.5),
            ("blueprint", &BLUEPRINT, 4.5),
            ("paper, high contrast", &PAPER_HIGH, 7.0),
            ("blueprint, high contrast", &BLUEPRINT_HIGH, 7.0),
        ];
        for (name, t, least) in all {
            let grounds =
                [("ground", t.ground), ("sheet", t.sheet), ("chart", t.chart), ("highlight", t.highlight)];
            let inks = [
                ("ink", t.ink),
                ("second ink", t.second_ink),
                ("accent", t.accent),
                ("second pen", t.second_pen),
                ("third pen", t.third_pen),
                ("caution", t.caution),
                ("critical", t.critical),
            ];
            for (ground_name, ground) in grounds {
                for (ink_name, ink) in inks {
                    let ratio = contrast(ink, ground);
                    assert!(ratio >= least, "{name}: {ink_name} on {ground_name} is {ratio:.2}");
                }
            }
            assert!(contrast(t.on_accent, t.accent) >= least, "{name}: text on the accent");
        }
    }

    #[test]
    fn in_high_contrast_every_line_and_edge_stands_out() {
        for t in [&PAPER_HIGH, &BLUEPRINT_HIGH] {
            for line in [t.rule, t.faint, t.strong_grid] {
                assert!(contrast(line, t.sheet) >= 3.0, "{line:?} on {:?}", t.sheet);
            }
        }
    }

    #[test]
    fn each_table_is_known_by_its_ground() {
        for (dark, high) in [(false, false), (true, false), (false, true), (true, true)] {
            let t = Tokens::of(dark, high);
            assert_eq!(Tokens::on_ground(t.ground, dark), t);
        }
    }
}
