//! The form for what a test of another quantity showed: volts, amperes, millilitres, degrees, millimetres.

use bevy_egui::egui::{self, Ui};

use super::bridge::Intent;
use super::sheet_fields as fields;
use super::theme::quiet;
use super::widgets;
use super::words::{clock, number, read_number};
use crate::bay::action::{Action, Micros, Quantity, TestEntry, TestUnit, Verdict};
use crate::bay::observation::Meter;
use crate::language::{named, said};
use crate::tell;

/// The half-written line.
#[derive(Clone, Debug, PartialEq)]
pub struct TestForm {
    /// What was measured.
    pub quantity: Quantity,
    /// Value as typed.
    pub value: String,
    /// Unit; none: not chosen.
    pub unit: Option<TestUnit>,
    /// Verdict.
    pub verdict: Option<Verdict>,
    /// Source of the limit.
    pub source: String,
    /// Remark.
    pub remark: String,
    /// The last test that the form has turned to.
    pub turned_at: Option<Micros>,
}

impl Default for TestForm {
    fn default() -> Self {
        Self {
            quantity: Quantity::Voltage,
            value: String::new(),
            unit: Some(Quantity::Voltage.unit()),
            verdict: None,
            source: String::new(),
            remark: String::new(),
            turned_at: None,
        }
    }
}

impl TestForm {
    /// The line was written.
    pub fn written(&mut self) {
        self.value.clear();
        self.remark.clear();
        self.verdict = None;
    }

    /// Another quantity, in the unit that it is read in.
    pub fn turn_to(&mut self, quantity: Quantity) {
        self.quantity = quantity;
        self.unit = Some(quantity.unit());
    }

    /// Turns once to what was measured last, unless a line about something else is being written.
    pub fn follow(&mut self, meters: &[Meter]) {
        let Some(last) = meters.last() else { return };
        if self.turned_at != Some(last.at) && self.value.trim().is_empty() {
            self.turned_at = Some(last.at);
            self.turn_to(last.quantity);
        }
    }

    /// The line, or why it isn't one yet.
    pub fn entry(&self) -> Result<TestEntry, &'static str> {
        let value = read_number(&self.value).ok_or(said("sheet-no-value"))?;
        let verdict = self.verdict.ok_or(said("sheet-no-verdict"))?;
        Ok(TestEntry {
            quantity: self.quantity,
            value,
            unit: self.unit,
            verdict,
            source: self.source.trim().to_owned(),
            remark: self.remark.trim().to_owned(),
        })
    }
}

/// The symbol of a unit as it stands on paper.
pub fn symbol(unit: TestUnit) -> &'static str {
    match unit {
        TestUnit::Celsius => "°C",
        TestUnit::Rpm => "1/min",
        other => other.symbol(),
    }
}

/// What the last test of a quantity showed, in words; or how one comes by one.
pub fn shown(meters: &[Meter], quantity: Quantity) -> String {
    match meters.iter().rev().find(|m| m.quantity == quantity) {
        Some(meter) => {
            let digits = match quantity {
                // as it was told: what is lost over a joint is read to the thousandth
                Quantity::Voltage if meter.value.abs() < 2.0 => 3,
                Quantity::Voltage => 2,
                Quantity::Current | Quantity::Temperature => 1,
                _ => 0,
            };
            let (value, unit) = (number(meter.value, digits), symbol(quantity.unit()));
            tell!("sheet-last-test", what = meter.what, value = value, unit = unit, time = clock(meter.at))
        }
        None => said("sheet-no-test").to_owned(),
    }
}

/// Draws the form.
pub fn test_form_ui(meters: &[Meter], form: &mut TestForm, ui: &mut Ui, intents: &mut Vec<Intent>) {
    form.follow(meters);
    let words = Quantity::ALL.map(|q| named(q.word()));
    let now = Quantity::ALL.iter().position(|q| *q == form.quantity);
    if let Some(i) = widgets::choice(ui, ui.available_width(), said("sheet-quantity"), &words, now) {
        form.turn_to(Quantity::ALL[i]);
    }
    ui.label(quiet(ui, shown(meters, form.quantity)));
    ui.horizontal_wrapped(|ui| {
        fields::value_ui(ui, &mut form.value, said("sheet-test-value"));
        let units = TestUnit::ALL.into_iter().filter(|u| u.quantity() == form.quantity);
        fields::unit_ui(ui, said("sheet-test-unit"), &mut form.unit, units, symbol);
        ui.add(egui::Label::new(quiet(ui, said("sheet-of-last-test"))).extend());
    });
    fields::judged_ui(ui, &mut form.verdict, &mut form.source, &mut form.remark);
    if let Some(entry) = fields::write_ui(ui, said("sheet-record-test"), form.entry(), |_| ()) {
        intents.push(Intent::Do(Action::RecordTest { entry }));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_test_needs_a_number_and_a_verdict() {
        let mut form = TestForm::default();
        assert_eq!(form.entry(), Err("the value isn't a number yet"));
        form.turn_to(Quantity::Current);
        form.value = "6,4".to_owned();
        assert_eq!(form.entry(), Err("no verdict is chosen"));
        form.verdict = Some(Verdict::Within);
        let entry = form.entry().unwrap();
        assert_eq!((entry.quantity, entry.value, entry.unit), (Quantity::Current, 6.4, Some(TestUnit::Ampere)));
    }

    #[test]
    fn the_last_test_of_the_quantity_is_shown() {
        let meter = |what: &str, quantity, value| Meter {
            at: 1_000_000,
            what: what.to_owned(),
            quantity,
            value,
            over_range: false,
        };
        let all = [meter("battery", Quantity::Voltage, 12.456), meter("jar", Quantity::Volume, 310.2)];
        assert_eq!(shown(&all, Quantity::Voltage), "Last: battery, 12.46 V at 00:00:01.");
        assert!(shown(&all, Quantity::Level).starts_with("No such test"));
        // the form turns to the last test once, and leaves alone what is being typed
        let mut form = TestForm::default();
        form.follow(&all);
        assert_eq!(form.quantity, Quantity::Volume);
        form.turn_to(Quantity::Voltage);
        form.follow(&all);
        assert_eq!(form.quantity, Quantity::Voltage);
        form.value = "12".to_owned();
        let later = Meter { at: 2_000_000, ..all[1].clone() };
        form.follow(&[all[0].clone(), later]);
        assert_eq!(form.quantity, Quantity::Voltage);
    }
}
