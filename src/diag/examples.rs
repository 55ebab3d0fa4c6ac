//! Parts and cards that the examples of the pages are made of.

/// Puts a tank, a line, a pump and an engine together to the parts of an example.
macro_rules! parts {
    ($($part:expr),* $(,)?) => { concat!("parts: [\n", $("    ", $part, ",\n",)* "],") };
}

macro_rules! part {
    (tank) => { part!(tank "vent: l_per_min(36)") };
    (tank $more:literal) => { concat!(r#"(name: "tank", label: "tank", is: Tank(outlet: "tank", capacity: l(60), fill: l(40), area: m2(0.15), pickup: mm(20), "#, $more, "))") };
    (strainer) => { r#"(name: "strainer", label: "strainer", is: Strainer(from: "tank", to: "foot", clean: (drop: mbar(12), at: l_per_h(160), laminar: 0.35)))"# };
    (line $from:literal $to:literal) => { concat!(r#"(name: "line", label: "line", is: Line(from: ""#, $from, r#"", to: ""#, $to, r#"", length: m(3), bore: mm(8), wall: per_Pa(4e-9)))"#) };
    (filter) => { r#"(name: "filter", label: "filter", is: Filter(from: "filter in", to: "pump in", new: (drop: mbar(40), at: l_per_h(160), laminar: 0.85), bowl: ml(190), clean_side: ml(90)))"# };
    (pump $name:literal) => { part!(pump $name "pump in" "gallery") };
    (pump $name:literal $from:literal $to:literal) => { concat!(r#"(name: ""#, $name, r#"", label: "pump", is: GearPump(from: ""#, $from, r#"", to: ""#, $to, r#"", displacement: ml_per_turn(1.1), slip: 3e-6, slip_at_rest: 4e-12, filling: Pa(36000), filling_with_speed: Pa(400)))"#) };
    (engine) => { part!(engine "overflow: (opens: bar(4.8), slope: 0.0006), ") };
    (lift $feed:literal) => {
        concat!(
            r#"(name: "lift pump", label: "lift pump", is: ElectricPump("#,
            "\n        from: \"foot\", to: \"filter in\", tank: \"tank\", stage: Turbine, displacement: ml_per_turn(0.4), slip: 2e-5,",
            "\n        relief_opens: bar(1), relief_slope: 0.001, winding: ohm(0.5), inductance: 6e-4, constant: 0.012, brushes: V(0.9),",
            "\n        inertia: 6e-6, dry_friction: 0.009, wet_friction: 3e-5,",
            "\n        feed: [",
            $feed,
            "],",
            "\n        earth: [(name: \"earth point\", ohm: mohm(15))], command: KeyAndEngine(prime: s(5)),",
            "\n    ))"
        )
    };
    (engine $overflow:literal) => { concat!(r#"(name: "engine", label: "engine", is: Engine(gallery: "gallery", volume: ml(45), wall: per_Pa(2.5e-9), "#, $overflow, r#"demand: ml_per_s(0.35), demand_with_speed: ml_per_s(1.1), starves_at: Pa(45000), starves_over: Pa(18000), lag: s(0.35), starter: rpm(210), idle: rpm(780), raised: rpm(2500)))"#) };
}

pub(super) const PARTS: &str = parts![
    part!(tank),
    part!(strainer),
    part!(line "foot" "filter in"),
    part!(filter),
    part!(pump "pump"),
    part!(engine)
];
pub(super) const PARTS_WITH_LINE_REVERSED: &str = parts![
    part!(tank),
    part!(strainer),
    part!(line "filter in" "foot"),
    part!(filter),
    part!(pump "pump"),
    part!(engine)
];
pub(super) const PARTS_WITH_LINE_SHORTED: &str = parts![
    part!(tank),
    part!(strainer),
    part!(line "foot" "foot"),
    part!(filter),
    part!(pump "pump"),
    part!(engine)
];
pub(super) const PARTS_WITHOUT_TANK: &str =
    parts![part!(strainer), part!(line "foot" "filter in"), part!(filter), part!(pump "pump"), part!(engine)];
pub(super) const PARTS_WITHOUT_ENGINE: &str =
    parts![part!(tank), part!(strainer), part!(line "foot" "filter in"), part!(filter), part!(pump "pump")];

pub(super) const PARTS_OVERFLOWING_INTO_A_LINE: &str = parts![
    part!(tank r#"vent: l_per_min(36), overflows_to: "foot""#),
    part!(strainer),
    part!(line "foot" "filter in"),
    part!(filter),
    part!(pump "pump"),
    part!(engine)
];
pub(super) const PARTS_WITHOUT_VENT: &str = parts![
    part!(tank "vent: l_per_min(0)"),
    part!(strainer),
    part!(line "foot" "filter in"),
    part!(filter),
    part!(pump "pump"),
    part!(engine)
];
pub(super) const PARTS_WITH_PUMPS_IN_SERIES: &str = parts![
    part!(tank),
    part!(strainer),
    part!(line "foot" "filter in"),
    part!(pump "first pump" "filter in" "pump in"),
    part!(pump "second pump"),
    part!(engine)
];
pub(super) const PARTS_WITH_OPPOSED_PUMPS: &str = parts![
    part!(tank),
    part!(strainer),
    part!(line "foot" "filter in"),
    part!(pump "pump" "filter in" "gallery"),
    part!(pump "left pump" "foot" "pump in"),
    part!(pump "right pump" "filter in" "pump in"),
    part!(engine)
];
pub(super) const PARTS_WITHOUT_FEED: &str =
    parts![part!(tank), part!(strainer), part!(lift ""), part!(filter), part!(pump "pump"), part!(engine)];
pub(super) const PARTS_WITH_FEED: &str = parts![
    part!(tank),
    part!(strainer),
    part!(lift r#"(name: "pump plug", ohm: mohm(80))"#),
    part!(filter),
    part!(pump "pump"),
    part!(engine)
];
pub(super) const PARTS_WITHOUT_OVERFLOW: &str = parts![
    part!(tank),
    part!(strainer),
    part!(line "foot" "filter in"),
    part!(filter),
    part!(pump "pump"),
    part!(engine "")
];
pub(super) const PARTS_WITH_RELIEF_IN_SUCTION: &str = parts![
    part!(tank),
    part!(strainer),
    part!(line "foot" "filter in"),
    r#"(name: "relief", label: "relief", is: Relief(from: "filter in", to: "tank", opens: bar(1), slope: 0.001))"#,
    part!(filter),
    part!(pump "pump"),
    part!(engine)
];

macro_rules! card {
    ($words:literal) => {
        concat!(
            "limits: [\n",
            "    (joint: \"filter in\", state: \"rest\", low: mbar(-50), high: mbar(10)),\n",
            "    (joint: \"filter in\", state: \"crank\", low: mbar(-70), high: mbar(-5)),\n",
            "    (joint: \"filter in\", state: \"idle\", low: mbar(-100), high: mbar(-30)),\n",
            "    (joint: \"filter in\", state: \"raised\", low: mbar(-200), high: mbar(-60)),\n",
            "    (joint: \"filter in\", state: \"dead-head\", low: mbar(-1000), high: mbar(-600), words: \"",
            $words,
            "\"),\n",
            "    (joint: \"filter in\", state: \"hold\", low: mbar(-70), high: mbar(5)),\n",
            "    (joint: \"pump in\", state: \"rest\", low: mbar(-50), high: mbar(10)),\n",
            "    (joint: \"pump in\", state: \"crank\", low: mbar(-80), high: mbar(-5)),\n",
            "    (joint: \"pump in\", state: \"idle\", low: mbar(-150), high: mbar(-30)),\n",
            "    (joint: \"pump in\", state: \"raised\", low: mbar(-250), high: mbar(-60)),\n",
            "    (joint: \"pump in\", state: \"dead-head\", low: mbar(-1000), high: mbar(-600), words: \"at idle, within 5 s\"),\n",
            "    (joint: \"pump in\", state: \"hold\", low: mbar(-80), high: mbar(5)),\n",
            "],"
        )
    };
}

pub(super) const FULL_CARD: &str = card!("at idle, within 5 s");
pub(super) const CARD_WITHOUT_CAUTION: &str = card!("at idle");
