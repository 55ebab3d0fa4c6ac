//! A line: fuel as an inert column with wall friction, its volume shared by the nodes at its ends.
//!
//! Laws (SI): I·dq/dt = p₁ − p₂ − ρgΔz(1−ᾱ) − Δp_f − R_u(q − q_s), I = ρL/A;
//! Δp_f = (f·Re)·μLv/(2D²) + ½ΣK·ρv|v| with the friction factor of Churchill (1977), which covers
//! laminar, transition and turbulent flow and rough walls; unsteady friction after Zielke (1968)
//! as the slowest term of Trikha (1975): R_u = k_u·4μL/(r²A), dq_s/dt = (q − q_s)·200μ/(r²ρ).
//! A soft hose squeezed by its own suction keeps the share β = 0.05 + 0.95·½[1 + tanh((p − p_c)/50 mbar)] of its bore and
//! loses (1/β² − 1)²·½ρv² more (engineering estimate). A line that is held shut loses R_p·q more, R_p = 10¹¹ Pa·s/mL: less
//! than a hundred thousandth of a mL/s gets through at 4 bar. That loss goes with the flow, not with its square: a square has no
//! slope at rest, and no step finds the rest of a flow that hangs on it.
//!
//! Stops being true: one column a line, so pressure waves have one mode and the peak of a hammer
//! is up to √2 too high; bubbles travel with the liquid (no drift) and fronts are smeared over a
//! cell.

use serde::{Deserialize, Serialize};

use super::number::{Number, Unit};
use crate::units::{AbsolutePressure, Length, WallStretch};

/// Parameters of a line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Upstream node.
    pub from: String,
    /// Downstream node.
    pub to: String,
    /// Length.
    pub length: Length,
    /// Inner diameter.
    pub bore: Length,
    /// Roughness of the wall.
    #[serde(default = "smooth")]
    pub roughness: Length,
    /// Sum of the loss factors of bends and fittings (ΣK).
    #[serde(default)]
    pub fittings: f64,
    /// Stretch of the wall.
    pub wall: WallStretch,
    /// Damping of pressure waves: 8.1 for pure wall shear, 16 … 40 with a soft hose.
    #[serde(default = "soft")]
    pub damping: f64,
    /// Absolute pressure at which a soft hose is half squeezed shut; none: it keeps its shape.
    #[serde(default)]
    pub squeezed_at: Option<AbsolutePressure>,
    /// It is transparent: what moves in it can be seen.
    #[serde(default)]
    pub clear: bool,
    /// Cells that carry bubbles in each half.
    #[serde(default = "four")]
    pub cells: u8,
    /// Held shut: a resistance R_p·q more. Hands do that, never a file.
    #[serde(skip)]
    pub pinched: bool,
}

const fn smooth() -> Length {
    Length::from_si(5e-6)
}

const fn soft() -> f64 {
    16.0
}

const fn four() -> u8 {
    4
}

impl Line {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let mut all = vec![
            Number::new("length", "the length", self.length.si(), Unit::M, 0.01, 50.0),
            Number::new("bore", "the bore", self.bore.si(), Unit::MM, 0.5, 60.0),
            Number::new("roughness", "the roughness", self.roughness.si(), Unit::MM, 0.0, 1.0),
            Number::new("fittings", "the loss factor", self.fittings, Unit::NONE, 0.0, 1e5),
            Number::new("wall", "the stretch of the wall", self.wall.si(), Unit::PER_PA, 0.0, 1e-6),
            Number::new("damping", "the damping", self.damping, Unit::NONE, 1.0, 200.0),
            Number::new("cells", "the number of cells", f64::from(self.cells), Unit::NONE, 1.0, 16.0),
        ];
        if let Some(p) = self.squeezed_at {
            all.push(Number::new("squeezed_at", "the pressure that squeezes it", p.si(), Unit::MBAR, 50.0, 1000.0));
        }
        all
    }
}
