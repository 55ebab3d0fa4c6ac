//! Nodes and parts one by one: names, ends, and numbers such as a vehicle has.

use super::page::{LONGEST_LINE, Page};
use crate::diag::{id, quotable};
use crate::plant::assemble::TEE;
use crate::plant::component::{Component, Resistance};
use crate::plant::{Node, Part};
use crate::scenario::source::At;
use crate::units::Volume;

pub(super) fn check_node(page: &mut Page<'_>, at: At<'_>, node: &Node) {
    page.name(at.field("name"), "the name of a node", &node.name);
    if node.name == TEE || node.name == "blanked end" {
        page.say(page.at(id::BAD_TEXT, at.field("name").span(), "this name belongs to the test kit").label("here"));
    }
    page.number(at.field("height"), "the height", node.height.si(), (-3.0, 5.0), "m");
    page.number(at.field("volume"), "the volume", node.volume.si() * 1e6, (0.0, 20_000.0), "ml");
    if let Some(wall) = node.wall {
        page.number(at.field("wall"), "the stretch of the wall", wall.si(), (0.0, 1e-6), "1/Pa");
    }
    if let Some(joint) = &node.joint {
        page.text(at.field("joint"), "the label of a joint", joint, LONGEST_LINE);
    }
}

pub(super) fn check_part(page: &mut Page<'_>, at: At<'_>, part: &Part, nodes: &[Node]) {
    page.name(at.field("name"), "the name of a part", &part.name);
    page.text(at.field("label"), "the label", &part.label, LONGEST_LINE);
    page.number(at.field("price"), "the price", part.price, (0.0, 100_000.0), "credits");
    page.number(at.field("minutes"), "the time", part.minutes, (0.0, 1000.0), "min");
    let is = at.field("is");
    let ends = part.is.ends();
    for (field, end) in part.is.end_fields().iter().zip(&ends) {
        if !nodes.iter().any(|n| n.name == *end) {
            page.say(
                page.at(id::UNKNOWN_NODE, is.field(field).span(), format!("no node is called {:?}", quotable(end)))
                    .label("not in \"nodes\"")
                    .among(end, nodes.iter().map(|n| &n.name)),
            );
        }
    }
    if let [from, to] = ends[..]
        && from == to
    {
        page.say(
            page.at(
                id::SHORT_CIRCUIT,
                is.field("to").span(),
                format!("{:?} begins and ends at {from:?}", part.name),
            )
            .label("the same node again")
            .also(is.field("from").span(), "first here"),
        );
    }
    check_component(page, is, &part.is);
}

fn check_resistance(page: &mut Page<'_>, at: At<'_>, r: &Resistance) {
    page.number(at.field("drop"), "the drop", r.drop.si(), (0.1, 1e6), "Pa");
    page.number(at.field("at"), "the flow", r.at.si() * 3.6e6, (0.1, 10_000.0), "l/h");
    page.number(at.field("laminar"), "the laminar share", r.laminar, (0.0, 1.0), "");
}

fn check_component(page: &mut Page<'_>, at: At<'_>, component: &Component) {
    let mut number = |field: &str, what: &str, value: f64, low: f64, high: f64, unit: &str| {
        page.number(at.field(field), what, value, (low, high), unit);
    };
    match component {
        Component::Tank(c) => {
            number("capacity", "the capacity", c.capacity.si() * 1e3, 0.5, 5000.0, "l");
            number("area", "the surface", c.area.si(), 1e-3, 20.0, "m²");
            number("pickup", "the height of the pick-up", c.pickup.si(), 0.0, 2.0, "m");
            number("vent", "the vent's flow", c.vent.si() * 6e4, 0.0, 10_000.0, "l/min");
            number("air_space", "the pressure in the air space", c.air_space.mbar(), -400.0, 400.0, "mbar");
            check_fill(page, at.field("fill"), c.fill, c.capacity);
        }
        Component::Strainer(c) => {
            check_resistance(page, at.field("clean"), &c.clean);
            if let Some(dirt) = &c.dirt {
                check_resistance(page, at.field("dirt"), dirt);
            }
        }
        Component::Line(c) => {
            number("length", "the length", c.length.si(), 0.01, 50.0, "m");
            number("bore", "the bore", c.bore.si() * 1e3, 0.5, 60.0, "mm");
            number("roughness", "the roughness", c.roughness.si() * 1e3, 0.0, 1.0, "mm");
            number("fittings", "the loss factor", c.fittings, 0.0, 1e5, "");
            number("wall", "the stretch of the wall", c.wall.si(), 0.0, 1e-6, "1/Pa");
            number("damping", "the damping", c.damping, 1.0, 200.0, "");
            number("cells", "the number of cells", f64::from(c.cells), 1.0, 16.0, "");
        }
        Component::NonReturnValve(c) => {
            number("cracking", "the cracking pressure", c.cracking.si() / 100.0, 0.0, 1000.0, "mbar");
            number("seat_leak", "the leak of the seat", c.seat_leak, 0.0, 1e-2, "mL/s a Pa");
            number("stuck_open", "the share stuck open", c.stuck_open, 0.0, 1.0, "");
            number("lift", "the lift", c.lift, 0.0, 1.0, "");
            check_resistance(page, at.field("open"), &c.open);
        }
        Component::Filter(c) => {
            number("bowl", "the bowl", c.bowl.si() * 1e6, 1.0, 10_000.0, "ml");
            number("clean_side", "the clean side", c.clean_side.si() * 1e6, 1.0, 10_000.0, "ml");
            number("cushion", "the cushion of air", c.cushion.si() * 1e6, 0.0, c.bowl.si() * 1e6, "ml");
            if let Some(stroke) = c.primer_stroke {
                number("primer_stroke", "the stroke", stroke.si() * 1e6, 0.1, 500.0, "ml");
            }
            number("clogged", "the clogged share", c.clogged, 0.0, 0.95, "");
            check_resistance(page, at.field("new"), &c.new);
        }
        Component::GearPump(c) => {
            number("displacement", "the displacement", c.displacement.si() * 1e6, 0.01, 200.0, "ml a turn");
            number("slip", "the slip", c.slip, 0.0, 1e-2, "mL/s a Pa");
            number("slip_at_rest", "the slip at rest", c.slip_at_rest, 0.0, 1e-2, "mL/s a Pa");
            number("filling", "the filling pressure", c.filling.si(), 100.0, 1e5, "Pa");
            number("filling_with_speed", "its growth with speed", c.filling_with_speed.si(), 0.0, 1e5, "Pa");
            number("filling_steepness", "the steepness", c.filling_steepness, 1.0, 20.0, "");
            number("teeth", "the number of teeth", f64::from(c.teeth), 2.0, 60.0, "");
        }
        Component::Engine(c) => {
            number("volume", "the volume", c.volume.si() * 1e6, 1.0, 10_000.0, "ml");
            number("wall", "the stretch of the wall", c.wall.si(), 0.0, 1e-6, "1/Pa");
            number("demand", "the demand", c.demand.si() * 1e6, 0.0, 200.0, "ml/s");
            number(
                "demand_with_speed",
                "its growth with speed",
                c.demand_with_speed.si() * 1e6,
                0.0,
                200.0,
                "ml/s",
            );
            number("back_leak", "the back-leak", c.back_leak.si() * 1e6, 0.0, 200.0, "ml/s");
            number("starves_at", "the pressure of starving", c.starves_at.si() / 100.0, 10.0, 20_000.0, "mbar");
            number("starves_over", "the width of starving", c.starves_over.si() / 100.0, 1.0, 10_000.0, "mbar");
            number("lag", "the lag", c.lag.si(), 0.01, 20.0, "s");
            number("starter", "the starter's speed", c.starter.si(), 30.0, 600.0, "1/min");
            number("idle", "the idle speed", c.idle.si(), 200.0, 3000.0, "1/min");
            number("raised", "the raised speed", c.raised.si(), c.idle.si(), 10_000.0, "1/min");
            if let Some(share) = c.stopped_by_gas {
                number("stopped_by_gas", "the share of gas", share, 0.001, 1.0, "");
            }
            if let Some(overflow) = &c.overflow {
                let at = at.field("overflow");
                page.number(
                    at.field("opens"),
                    "the opening pressure",
                    overflow.opens.si() / 1e5,
                    (0.0, 50.0),
                    "bar",
                );
                page.number(at.field("slope"), "the slope", overflow.slope, (1e-7, 10.0), "mL/s a Pa");
                page.number(at.field("leak"), "the leak", overflow.leak, (0.0, 1.0), "mL/s a Pa");
            }
        }
        _ => {}
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
