//! Plants nobody would draw: chains and branches of every kind of component, from a list of bytes and a seed.

use std::fmt::Write;

use faultbay::plant::{Leak, Plant};
use faultbay::random::{Purpose, uniform};
use faultbay::units::Area;

use crate::small::{DIESEL, plant};

/// Numbers drawn one after the other.
pub struct Draw {
    seed: u64,
    next: u64,
}

impl Draw {
    pub fn new(seed: u64) -> Self {
        Self { seed, next: 0 }
    }

    /// Evenly between two bounds.
    pub fn within(&mut self, low: f64, high: f64) -> f64 {
        self.next += 1;
        low + (high - low) * uniform(self.seed, Purpose::Tolerance, self.next)
    }

    /// Evenly on the logarithm.
    pub fn scale(&mut self, low: f64, high: f64) -> f64 {
        let share = self.within(0.0, 1.0);
        low * faultbay::ops::powf(high / low, share)
    }

    /// A choice.
    pub fn of(&mut self, n: usize) -> usize {
        (self.within(0.0, n as f64) as usize).min(n - 1)
    }
}

/// A plant as text while it grows.
struct Growing {
    nodes: String,
    parts: String,
    count: usize,
    draw: Draw,
}

impl Growing {
    fn node(&mut self) -> String {
        let name = format!("n{}", self.count);
        self.count += 1;
        let (height, volume) = (self.draw.within(0.0, 1.0), self.draw.scale(2.0, 60.0));
        let _ = write!(
            self.nodes,
            r#"(name: "{name}", height: m({height}), volume: ml({volume}), joint: "joint {name}"),"#
        );
        name
    }

    fn part(&mut self, kind: &str, fields: &str) {
        let name = format!("p{}", self.count);
        self.count += 1;
        let _ = write!(self.parts, r#"(name: "{name}", label: "", is: {kind}({fields})),"#);
    }

    fn resistance(&mut self, mbar: f64) -> String {
        let (drop, laminar) = (self.draw.scale(1.0, mbar), self.draw.within(0.1, 0.9));
        format!("(drop: mbar({drop}), at: ml_per_s(25), laminar: {laminar})")
    }

    fn line(&mut self, from: &str, to: &str, soft: bool) {
        let (length, bore) = (self.draw.within(0.3, 6.0), self.draw.within(5.0, 12.0));
        let (wall, fittings) = (self.draw.scale(1e-9, 2e-8), self.draw.within(0.0, 20.0));
        let (cells, damping) = (1 + self.draw.of(3), self.draw.within(8.0, 40.0));
        let squeezed = if soft { "squeezed_at: mbar(700)," } else { "" };
        self.part(
            "Line",
            &format!(
                r#"from: "{from}", to: "{to}", length: m({length}), bore: mm({bore}), wall: per_Pa({wall:e}),
                fittings: {fittings}, cells: {cells}, damping: {damping}, {squeezed}"#
            ),
        );
    }

    /// From a node one component further, or a loop or a branch.
    fn grow(&mut self, from: &str, kind: u8) -> String {
        let ends = |to: &str| format!(r#"from: "{from}", to: "{to}","#);
        let to = if kind % 12 == 8 { from.to_owned() } else { self.node() };
        let drop = self.resistance(60.0);
        match kind % 12 {
            0 => self.line(from, &to, false),
            1 => self.part("Restriction", &format!("{} drop: {drop}", ends(&to))),
            2 => {
                let sticks = if self.draw.of(2) == 0 { 0.0 } else { self.draw.scale(2.0, 60.0) };
                self.part(
                    "NonReturnValve",
                    &format!("{} cracking: mbar(12), sticks: mbar({sticks}), open: {drop}", ends(&to)),
                );
            }
            3 => {
                let lever = self.draw.within(0.3, 1.0);
                self.part(
                    "ShutOffValve",
                    &format!("{} open: (drop: mbar(5), at: ml_per_s(25), laminar: 0), lever: {lever}", ends(&to)),
                );
            }
            4 => {
                let cushion = self.draw.within(0.0, 30.0);
                self.part(
                    "Filter",
                    &format!(
                        "{} new: {drop}, bowl: ml(150), clean_side: ml(60), cushion: ml({cushion}), \
                         primer_stroke: ml(8)",
                        ends(&to)
                    ),
                );
            }
            5 => self.part("SedimentBowl", &format!("{} bowl: ml(120), clean: {drop}", ends(&to))),
            6 => self.part("HandPrimer", &format!("{} stroke: ml(12), open: {drop}", ends(&to))),
            7 => {
                self.line(from, &to, false);
                self.part("Restriction", &format!("{} drop: {drop}", ends(&to)));
            }
            8 => {
                let opens = self.draw.scale(0.2, 5.0);
                self.part(
                    "Relief",
                    &format!(r#"from: "{from}", to: "tank", opens: bar({opens}), slope: 0.001, leak: 1e-10"#),
                );
            }
            9 => {
                self.line(from, &to, true);
                self.line(from, &to, false);
            }
            10 => {
                let stub = self.node();
                self.line(from, &stub, false);
                self.part("Strainer", &format!("{} clean: {drop}", ends(&to)));
            }
            _ => self.line(from, &to, true),
        }
        to
    }

    fn pump(&mut self, from: &str, kind: u8) -> String {
        let to = self.node();
        let ends = format!(r#"from: "{from}", to: "{to}","#);
        match kind % 4 {
            0 => {
                let size = self.draw.within(1.0, 2.5);
                self.part(
                    "GearPump",
                    &format!(
                        "{ends} displacement: ml_per_turn({size}), slip: 3e-6, slip_at_rest: 4e-12, \
                         filling: mbar(360), filling_with_speed: mbar(4)"
                    ),
                );
            }
            1 => self.part(
                "DiaphragmPump",
                &format!(
                    "{ends} displacement: ml_per_turn(1.5), spring: mbar(350), spring_over: mbar(60), \
                     filling: mbar(300), leak: 1e-9, hand_stroke: ml(15)"
                ),
            ),
            2 => self.electric(&ends, "KeyAndEngine(prime: s(2))"),
            _ => self.electric(
                &ends,
                &format!(
                    r#"Demand(prime: s(2), sensor: "{to}", idle: bar(3), raised: bar(4), gain: 0.5, integral: 2)"#
                ),
            ),
        }
        to
    }

    fn electric(&mut self, ends: &str, command: &str) {
        let resistance = self.draw.scale(0.05, 1.0);
        self.part(
            "ElectricPump",
            &format!(
                r#"{ends} tank: "tank", stage: RollerCell, displacement: ml_per_turn(0.4), slip: 1.9e-5,
                relief_opens: bar(6.3), relief_slope: 0.0009, seat_leak: 1e-10, winding: ohm(0.42),
                inductance: 0.0006, constant: 0.0122, brushes: V(0.9), inertia: 6e-6, dry_friction: 0.009,
                wet_friction: 3.4e-5, feed: [(name: "relay", ohm: ohm({resistance}))], earth: [],
                command: {command}"#
            ),
        );
    }

    fn tank(&mut self, name: &str, more: &str) {
        let (fill, base, pickup) =
            (self.draw.within(2.0, 60.0), self.draw.within(-0.6, 0.6), self.draw.within(0.0, 30.0));
        let vent = if self.draw.of(4) == 0 { 0.0 } else { 30.0 };
        let _ = write!(self.nodes, r#"(name: "{name}", height: m({base})),"#);
        self.part(
            "Tank",
            &format!(
                r#"outlet: "{name}", capacity: l(70), fill: l({fill}), area: m2(0.17), pickup: mm({pickup}),
                vent: l_per_min({vent}), base: m({base}), {more}"#
            ),
        );
    }
}

/// A plant that draws from a tank through `before`, pumps, and feeds an engine through `after`.
pub fn random_plant(before: &[u8], pump: u8, after: &[u8], seed: u64) -> Plant {
    let mut g = Growing { nodes: String::new(), parts: String::new(), count: 0, draw: Draw::new(seed) };
    let second = g.draw.of(3) == 0;
    g.tank("tank", if second { r#"overflows_to: "other","# } else { "" });
    if second {
        g.tank("other", "");
    }
    let pot = pump % 4 >= 2 && g.draw.of(2) == 0;
    if pot {
        let _ = write!(g.nodes, r#"(name: "pot", height: m(0)),"#);
        g.part(
            "SwirlPot",
            r#"outlet: "pot", tank: "tank", volume: ml(700), area: m2(0.008), pickup: mm(5),
            flap: (drop: mbar(1), at: ml_per_s(30), laminar: 0.3)"#,
        );
    }
    let mut at = g.node();
    let drop = g.resistance(20.0);
    let mouth = if pot { "pot" } else { "tank" };
    g.part("Strainer", &format!(r#"from: "{mouth}", to: "{at}", clean: {drop}"#));
    if second {
        g.part("Restriction", &format!(r#"from: "other", to: "{at}", drop: {drop}"#));
    }
    for &kind in before {
        at = g.grow(&at, kind);
    }
    at = g.pump(&at, pump);
    if pot {
        g.part(
            "JetPump",
            &format!(
                r#"from: "{at}", to: "pot", ratio: 2.5, nozzle: (drop: bar(3), at: ml_per_s(5), laminar: 0.1)"#
            ),
        );
    }
    for &kind in after {
        at = g.grow(&at, kind);
    }
    if pump % 4 >= 2 {
        let manifold = g.draw.of(2) == 0;
        g.part(
            "Relief",
            &format!(
                r#"from: "{at}", to: "tank", opens: bar(3.5), slope: 0.0016, way_out: 12, manifold: {manifold},
                rounding: Pa(800)"#
            ),
        );
    }
    let returns = if g.draw.of(2) == 0 {
        let node = g.node();
        g.line(&node, "tank", false);
        format!(r#"returns_to: "{node}","#)
    } else {
        String::new()
    };
    let overflow =
        if pump.is_multiple_of(4) { "overflow: (opens: bar(4.8), slope: 0.0006, leak: 2e-11)," } else { "" };
    let (holds, leak) = (g.draw.of(2) == 0, g.draw.within(0.0, 3.0));
    let bears = if g.draw.of(2) == 0 { "stopped_by_gas: 0.2," } else { "" };
    g.part(
        "Engine",
        &format!(
            r#"gallery: "{at}", volume: ml(50), wall: per_Pa(2.5e-9), demand: ml_per_s(0.3),
            demand_with_speed: ml_per_s(1), back_leak: ml_per_s({leak}), {overflow} {returns} {bears}
            holds_gas: {holds}, injectors_drip: 1e-10, demand_with_load: 3, manifold: mbar(-500),
            starves_at: mbar(450), starves_over: mbar(180), lag: s(0.35), starter: rpm(210), idle: rpm(780),
            raised: rpm(2300)"#
        ),
    );
    let mut plant = plant(DIESEL, &g.nodes, &g.parts);
    // gas isn't followed in a gallery that doesn't hold it, so it can't have a hole
    let nodes: Vec<String> =
        plant.nodes.iter().map(|n| n.name.clone()).filter(|n| n.starts_with('n') && *n != at).collect();
    for _ in 0..g.draw.of(3) {
        let node = nodes[g.draw.of(nodes.len())].clone();
        let area = Area::from_si(g.draw.scale(0.001, 0.3) * 1e-6);
        plant.leaks.push(Leak { node, along: g.draw.within(0.0, 1.0), area });
    }
    plant
}
