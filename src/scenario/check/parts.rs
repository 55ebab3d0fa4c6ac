//! Nodes and parts one by one: names, ends, and numbers such as a vehicle has.

use super::page::{LONGEST_LINE, Page};
use crate::diag::id;
use crate::plant::component::{Component, Number};
use crate::plant::{Node, Part};
use crate::scenario::source::At;
use crate::units::Volume;

pub(super) fn check_node(page: &mut Page<'_>, at: At<'_>, node: &Node) {
    page.name(at.field("name"), "the name of a node", &node.name);
    for number in node.numbers() {
        check_number(page, at, &number);
    }
    if let Some(joint) = &node.joint {
        page.text(at.field("joint"), "the label of a joint", joint, LONGEST_LINE);
    }
}

pub(super) fn check_part(page: &mut Page<'_>, at: At<'_>, part: &Part) {
    page.name(at.field("name"), "the name of a part", &part.name);
    page.text(at.field("label"), "the label", &part.label, LONGEST_LINE);
    page.known(at, "parts", "price", "the price", part.price);
    page.known(at, "parts", "minutes", "the time", part.minutes);
    let is = at.field("is");
    check_component(page, is, &part.is);
}

/// Numbers in their ranges; a tank's fill is told in litres of that tank.
fn check_component(page: &mut Page<'_>, is: At<'_>, component: &Component) {
    for number in component.numbers() {
        match component {
            Component::Tank(tank) if number.field == "fill" => {
                check_fill(page, is.field("fill"), tank.fill, tank.capacity);
            }
            _ => check_number(page, is, &number),
        }
    }
    if let Component::ElectricPump(pump) = component {
        for (field, joints) in [("feed", &pump.feed), ("earth", &pump.earth)] {
            for (i, joint) in joints.iter().enumerate() {
                page.name(is.field(field).item(i).field("name"), "the name of a measuring point", &joint.name);
            }
        }
    }
}

/// A number in its range, at its place below `at`.
pub(super) fn check_number(page: &mut Page<'_>, at: At<'_>, number: &Number) {
    if !number.fits() {
        let place = number.field.split('.').fold(at, |at, step| match step.parse() {
            Ok(index) => at.item(index),
            Err(_) => at.field(step),
        });
        page.number(place, number.words, number.value, (number.low, number.high), number.unit.symbol);
    }
}

pub(super) fn check_fill(page: &mut Page<'_>, at: At<'_>, fill: Volume, capacity: Volume) {
    if fill.si() <= 0.0 || fill.si() > capacity.si() {
        let (fill, capacity) = (fill.si() * 1e3, capacity.si() * 1e3);
        let message = format!("{fill} l of fuel in a tank of {capacity} l");
        page.say(
            page.at(id::FILL, at.span(), message)
                .label("here")
                .instead_of(at.text(), format!("up to l({capacity})")),
        );
    }
}
