//! What each id means, with a wrong and a corrected example: the text of `faultbay explain`.

mod fitting;
mod recording;

use super::examples::*;
use super::{Id, id};

/// Where an example belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Within {
    /// It is a whole file.
    File,
    /// It is this field of a plant.
    Plant(&'static str),
    /// It is this field of a job.
    Job(&'static str),
    /// It is this field of a rubric.
    Rubric(&'static str),
    /// It is this field of a course.
    Course(&'static str),
    /// It is a whole recording.
    Recording,
}

/// Something wrong and the same thing right.
pub struct Example {
    /// Where both stand.
    pub within: Within,
    /// The wrong one, as shown.
    pub wrong: &'static str,
    /// The right one, as shown.
    pub right: &'static str,
    /// Makes the real wrong text of the one shown, when that is too long to show.
    pub grown: Option<fn(&str) -> String>,
}

/// The page of an id.
pub struct Page {
    /// Which.
    pub id: Id,
    /// What is wrong, in a line.
    pub title: &'static str,
    /// Why it matters and what to do.
    pub why: &'static str,
    /// An example; none where no text of a file can show it.
    pub example: Option<Example>,
}

/// Every page in the order of the codes.
pub fn all() -> impl Iterator<Item = &'static Page> {
    recording::PAGES.iter().chain(PAGES).chain(fitting::PAGES)
}

/// The page of an id.
pub fn page(id: Id) -> Option<&'static Page> {
    all().find(|p| p.id == id)
}

const fn shown(within: Within, wrong: &'static str, right: &'static str) -> Option<Example> {
    Some(Example { within, wrong, right, grown: None })
}

const fn grown(
    within: Within,
    wrong: &'static str,
    right: &'static str,
    grow: fn(&str) -> String,
) -> Option<Example> {
    Some(Example { within, wrong, right, grown: Some(grow) })
}

/// Every page about plants, jobs and rubrics in the order of the codes.
static PAGES: &[Page] = &[
    Page {
        id: id::TOO_LARGE,
        title: "The file is larger than any scenario needs",
        why: "A file may have 1 MiB. The largest job with long texts has a few dozen kilobytes, so a larger \
              file is a mistake or worse, and it isn't read at all.",
        example: grown(Within::Job("title"), r#"title: "…","#, r#"title: "No pull on the hill","#, |shown| {
            shown.replace('…', &"long ".repeat(1 << 18))
        }),
    },
    Page {
        id: id::TOO_DEEP,
        title: "Brackets are nested too deeply",
        why: "No file needs more than a handful of brackets inside each other; 24 are allowed. Deeper \
              nesting comes from a program gone wrong.",
        example: grown(Within::Job("goals"), "goals: [[[[…]]]],", r#"goals: ["Zero first"],"#, |shown| {
            shown.replace('…', &format!("{}{}", "[".repeat(40), "]".repeat(40)))
        }),
    },
    Page {
        id: id::SYNTAX,
        title: "The text isn't well formed",
        why: "A bracket or a quote isn't closed, or a comma or a colon is missing. The caret shows how far \
              the text could be read; the mistake stands there or just before.",
        example: shown(
            Within::Job("facts"),
            "facts: [\n    \"Dry, 18 °C\"\n    \"Gauge at two thirds\",\n],",
            "facts: [\n    \"Dry, 18 °C\",\n    \"Gauge at two thirds\",\n],",
        ),
    },
    Page {
        id: id::UNKNOWN_FIELD,
        title: "A field that isn't known",
        why: "Fields that aren't known are refused rather than passed over: a misspelt field would \
              otherwise be silently left out.",
        example: shown(Within::Job("minutes"), "minuts: 30,", "minutes: 30,"),
    },
    Page {
        id: id::MISSING_FIELD,
        title: "A field is missing",
        why: "The field has no value that could be taken in its place.",
        example: shown(
            Within::Job("questions"),
            r#"questions: [(name: "since", ask: "Since when?")],"#,
            r#"questions: [(name: "since", ask: "Since when?", answer: "A week.")],"#,
        ),
    },
    Page {
        id: id::WRONG_VALUE,
        title: "A value of the wrong kind",
        why: "A text stands in quotes, a list in square brackets, a quantity in its unit. A bare number is \
              never taken for a quantity, since nobody could tell millimetres from metres.",
        example: shown(Within::Job("fill"), "fill: 40,", "fill: l(40),"),
    },
    Page {
        id: id::UNKNOWN_WORD,
        title: "A unit or another fixed word that doesn't exist here",
        why: "Units belong to a quantity: a length takes mm, cm or m, a gauge pressure mbar, bar, kPa, psi \
              or inHg. Kinds of parts, fuels and modes are fixed words too.",
        example: shown(Within::Plant("fuel"), "fuel: Disel,", "fuel: Diesel,"),
    },
    Page {
        id: id::REPEATED_FIELD,
        title: "A field stands twice",
        why: "Neither counts while both stand there: which of them was meant can't be told. The message names both lines.",
        example: shown(Within::Job("minutes"), "minutes: 30,\nminutes: 45,", "minutes: 45,"),
    },
    Page {
        id: id::UNKNOWN_KIND,
        title: "Neither a plant nor a job nor a rubric",
        why: "A file says what it is with its first word: Plant( … ), Job( … ), Rubric( … ) or Course( … ).",
        example: shown(
            Within::File,
            "Marks(\n    pass: 60,\n)",
            "Rubric(\n    diagnosis: 30, justified: 25, measurement: 15, procedure: 20, calibration: 10,\n    cut: 60,\n    reading_tolerance: mbar(15),\n)",
        ),
    },
    Page {
        id: id::TOO_MANY,
        title: "More entries than a file may have",
        why: "Lists are bounded (64 nodes and parts, 24 candidates with 24 vehicles each, 4 hidden faults) so \
              that a file can't make a check or an attempt take for ever.",
        example: grown(
            Within::Job("goals"),
            r#"goals: ["Zero first", …],"#,
            r#"goals: ["Zero first"],"#,
            |shown| shown.replace('…', &r#""again","#.repeat(50)),
        ),
    },
    Page {
        id: id::UNREADABLE,
        title: "No such file, or it can't be read",
        why: "The file isn't there, isn't text in UTF-8, or nothing in the library has that name.",
        example: None,
    },
    Page {
        id: id::OUT_OF_RANGE,
        title: "A number outside what any vehicle has",
        why: "Every number has a range that is far wider than healthy vehicles need. A value outside it is \
              nearly always in the wrong unit.",
        example: shown(Within::Plant("temperature"), "temperature: degC(293),", "temperature: degC(20),"),
    },
    Page {
        id: id::BAD_TEXT,
        title: "A name or text that is empty, too long or holds odd signs",
        why: "Learners read texts, and attempts quote names; both must be there. Names are made of letters, \
              digits, spaces, hyphens, dots and low lines.",
        example: shown(Within::Job("complaint"), r#"complaint: "","#, r#"complaint: "It has no pull uphill.","#),
    },
    Page {
        id: id::UNKNOWN_PART,
        title: "No part has that name",
        why: "The name must be that of a part of the job's plant, letter for letter.",
        example: shown(
            Within::Job("looks"),
            r#"looks: [(part: "fliter", sees: "Dusty and dry.")],"#,
            r#"looks: [(part: "filter", sees: "Dusty and dry.")],"#,
        ),
    },
    Page {
        id: id::UNKNOWN_NODE,
        title: "No node has that name",
        why: "Parts begin and end at nodes, which are listed in \"nodes\"; air gets in at a node too.",
        example: shown(
            Within::Job("hidden"),
            r#"hidden: [(fault: "F09", at: "filtre in", severity: 3.0)],"#,
            r#"hidden: [(fault: "F09", at: "filter in", severity: 3.0)],"#,
        ),
    },
    Page {
        id: id::UNKNOWN_JOINT,
        title: "No joint has that name",
        why: "The test tee fits at nodes that have a joint. A range on the card for any other place could \
              never be compared with a reading.",
        example: shown(
            Within::Job("limits"),
            r#"limits: [(joint: "foot", state: "idle", low: mbar(-100), high: mbar(-30))],"#,
            r#"limits: [(joint: "pump in", state: "idle", low: mbar(-100), high: mbar(-30))],"#,
        ),
    },
    Page {
        id: id::UNKNOWN_FAULT,
        title: "No fault has that code",
        why: "Faults are called by their codes in the catalogue.",
        example: shown(
            Within::Job("hidden"),
            r#"hidden: [(fault: "F51", severity: 3.0)],"#,
            r#"hidden: [(fault: "F15", severity: 3.0)],"#,
        ),
    },
    Page {
        id: id::UNKNOWN_PLANT,
        title: "No plant has that name",
        why: "A job names its plant by the file's name without \".ron\". The plant is built in or lies in the \
              folder \"plants\" beside the folder of the job.",
        example: shown(Within::Job("plant"), r#"plant: "bnech","#, r#"plant: "bench","#),
    },
    Page {
        id: id::UNKNOWN_RUBRIC,
        title: "No rubric has that name",
        why: "A job names its rubric by the file's name without \".ron\". The rubric is built in or lies in the \
              folder \"rubrics\" beside the folder of the job.",
        example: shown(Within::Job("rubric"), r#"rubric: "benhc","#, r#"rubric: "bench","#),
    },
    Page {
        id: id::UNKNOWN_STATE,
        title: "No state has that name",
        why: "The states are rest, prime, crank, idle, raised, load, dead-head and hold.",
        example: shown(
            Within::Job("limits"),
            r#"limits: [(joint: "pump in", state: "idel", low: mbar(-100), high: mbar(-30))],"#,
            r#"limits: [(joint: "pump in", state: "idle", low: mbar(-100), high: mbar(-30))],"#,
        ),
    },
    Page {
        id: id::DUPLICATE_NAME,
        title: "Two things share a name",
        why: "Actions, files and marks refer to things by name; each name stands for one.",
        example: shown(
            Within::Job("questions"),
            "questions: [\n    (name: \"since\", ask: \"Since when?\", answer: \"A week.\"),\n    (name: \"since\", ask: \"Getting worse?\", answer: \"Yes.\"),\n],",
            "questions: [\n    (name: \"since\", ask: \"Since when?\", answer: \"A week.\"),\n    (name: \"worse\", ask: \"Getting worse?\", answer: \"Yes.\"),\n],",
        ),
    },
    Page {
        id: id::FLOATING_NODE,
        title: "A node that no part is joined to",
        why: "Nothing could flow there. The name of an end is misspelt, or the node isn't needed.",
        example: shown(
            Within::Plant("nodes"),
            "nodes: [\n    (name: \"tank\", height: m(0)),\n    (name: \"foot\", height: mm(30)),\n    (name: \"filter in\", height: m(0.5), joint: \"filter inlet\"),\n    (name: \"spare\", height: m(0.5)),\n    (name: \"pump in\", height: m(0.5)),\n    (name: \"gallery\", height: m(0.5)),\n],",
            "nodes: [\n    (name: \"tank\", height: m(0)),\n    (name: \"foot\", height: mm(30)),\n    (name: \"filter in\", height: m(0.5), joint: \"filter inlet\"),\n    (name: \"pump in\", height: m(0.5)),\n    (name: \"gallery\", height: m(0.5)),\n],",
        ),
    },
    Page {
        id: id::OFF_THE_PATH,
        title: "A node that fuel doesn't pass",
        why: "Every node must lie on a way from a tank to the engine, or back to a tank. A part may be the wrong \
              way round: \"from\" is the end that fuel comes from, \"to\" the end that it goes to.",
        example: shown(Within::Plant("parts"), PARTS_WITH_LINE_REVERSED, PARTS),
    },
    Page {
        id: id::SHORT_CIRCUIT,
        title: "A part with both ends at one node",
        why: "Fuel that leaves where it came in goes nowhere.",
        example: shown(Within::Plant("parts"), PARTS_WITH_LINE_SHORTED, PARTS),
    },
    Page {
        id: id::ONE_ENGINE,
        title: "Not exactly one engine",
        why: "The engine turns the pump, burns the fuel and sends the rest back; without it nothing runs.",
        example: shown(Within::Plant("parts"), PARTS_WITHOUT_ENGINE, PARTS),
    },
    Page {
        id: id::NO_JOINT,
        title: "Nowhere to fit the tee",
        why: "A learner reads the supply through a tee at a joint. At least one node needs one.",
        example: shown(
            Within::Plant("nodes"),
            "nodes: [\n    (name: \"tank\", height: m(0)),\n    (name: \"foot\", height: mm(30)),\n    (name: \"filter in\", height: m(0.5)),\n    (name: \"pump in\", height: m(0.5)),\n    (name: \"gallery\", height: m(0.5)),\n],",
            "nodes: [\n    (name: \"tank\", height: m(0)),\n    (name: \"foot\", height: mm(30)),\n    (name: \"filter in\", height: m(0.5), joint: \"filter inlet\"),\n    (name: \"pump in\", height: m(0.5)),\n    (name: \"gallery\", height: m(0.5)),\n],",
        ),
    },
    Page {
        id: id::FAULT_PLACE,
        title: "A fault at a place where it can't sit",
        why: "Each fault belongs to a kind of part, to a node, or to the tester's own kit. Where a plant has \
              several parts of the kind, \"at\" says which.",
        example: shown(
            Within::Job("hidden"),
            r#"hidden: [(fault: "F15", at: "pump", severity: 3.0)],"#,
            r#"hidden: [(fault: "F15", at: "filter", severity: 3.0)],"#,
        ),
    },
    Page {
        id: id::SEVERITY,
        title: "A severity outside 1 … 5, or a band the wrong way round",
        why: "1 is a trace, 2 marginal, 3 what a customer complains of, 4 limps or stalls, 5 doesn't start.",
        example: shown(
            Within::Job("hidden"),
            r#"hidden: [(fault: "F15", severity: 30.0)],"#,
            r#"hidden: [(fault: "F15", severity: 3.0)],"#,
        ),
    },
    Page {
        id: id::LIMITS_REVERSED,
        title: "A healthy range whose low end is above its high end",
        why: "Pressures are gauge pressures: suction is negative, so the stronger suction is the low end.",
        example: shown(
            Within::Job("limits"),
            r#"limits: [(joint: "pump in", state: "idle", low: mbar(-40), high: mbar(-150))],"#,
            r#"limits: [(joint: "pump in", state: "idle", low: mbar(-150), high: mbar(-40))],"#,
        ),
    },
    Page {
        id: id::REPEATED_LIMIT,
        title: "Two healthy ranges for one state at one joint",
        why: "A reading is judged against one range; a second one would leave open which of them counts.",
        example: shown(
            Within::Job("limits"),
            "limits: [\n    (joint: \"pump in\", state: \"idle\", low: mbar(-150), high: mbar(-40)),\n    (joint: \"pump in\", state: \"idle\", low: mbar(-120), high: mbar(-40)),\n],",
            "limits: [\n    (joint: \"pump in\", state: \"idle\", low: mbar(-150), high: mbar(-40)),\n    (joint: \"pump in\", state: \"raised\", low: mbar(-250), high: mbar(-90)),\n],",
        ),
    },
    Page {
        id: id::WEIGHT,
        title: "A weight that can't be used",
        why: "A candidate's weight is above zero: what has no weight could never be believed, whatever the \
              readings say. A rubric's weights are zero or more, and not all zero.",
        example: shown(Within::Rubric("diagnosis"), "diagnosis: -30,", "diagnosis: 30,"),
    },
    Page {
        id: id::HEALTHY_CANDIDATE,
        title: "Not exactly one candidate for \"nothing wrong\"",
        why: "A sound supply must be a possible finding, and only one candidate can mean it: the one whose \
              list of vehicles is empty.",
        example: shown(
            Within::Job("candidates"),
            "candidates: [\n    (name: \"plugged-filter\", label: \"Filter plugged\", weight: 3, vehicles: [(fault: \"F15\", severity: (2.0, 4.5))]),\n    (name: \"air-ingress\", label: \"Air gets in\", weight: 3, vehicles: [(fault: \"F09\", at: \"filter in\", severity: (1.5, 4.5))]),\n    (name: \"worn-pump\", label: \"Pump worn\", weight: 2, vehicles: [(fault: \"F26\", severity: (2.0, 4.5))]),\n],",
            "candidates: [\n    (name: \"plugged-filter\", label: \"Filter plugged\", weight: 3, vehicles: [(fault: \"F15\", severity: (2.0, 4.5))]),\n    (name: \"air-ingress\", label: \"Air gets in\", weight: 3, vehicles: [(fault: \"F09\", at: \"filter in\", severity: (1.5, 4.5))]),\n    (name: \"nothing-wrong\", label: \"Nothing wrong\", weight: 2, vehicles: []),\n],",
        ),
    },
    Page {
        id: id::UNCOVERED_FAULT,
        title: "A hidden fault that no candidate stands for",
        why: "A learner answers with a candidate. Some candidate must list the hidden fault at its place with \
              a band of severities that holds it, or no answer could be right.",
        example: shown(
            Within::Job("hidden"),
            r#"hidden: [(fault: "F15", severity: 1.2)],"#,
            r#"hidden: [(fault: "F15", severity: 2.2)],"#,
        ),
    },
    Page {
        id: id::OVERLAP,
        title: "One fault that two candidates stand for",
        why: "If the same vehicle counted for two candidates, naming one would be as right as naming the other.",
        example: shown(
            Within::Job("candidates"),
            "candidates: [\n    (name: \"plugged-filter\", label: \"Filter plugged\", weight: 3, vehicles: [(fault: \"F15\", severity: (2.0, 4.5))]),\n    (name: \"old-filter\", label: \"Filter overdue\", weight: 3, vehicles: [(fault: \"F15\", severity: (1.0, 2.5))]),\n    (name: \"nothing-wrong\", label: \"Nothing wrong\", weight: 2, vehicles: []),\n],",
            "candidates: [\n    (name: \"plugged-filter\", label: \"Filter plugged\", weight: 3, vehicles: [(fault: \"F15\", severity: (2.6, 4.5))]),\n    (name: \"old-filter\", label: \"Filter overdue\", weight: 3, vehicles: [(fault: \"F15\", severity: (1.0, 2.5))]),\n    (name: \"nothing-wrong\", label: \"Nothing wrong\", weight: 2, vehicles: []),\n],",
        ),
    },
    Page {
        id: id::TWO_CAUSES,
        title: "Hidden faults that different candidates stand for",
        why: "A finding names one candidate in this version. Two faults may be hidden when one candidate \
              stands for both.",
        example: shown(
            Within::Job("hidden"),
            "hidden: [\n    (fault: \"F15\", severity: 3.0),\n    (fault: \"F26\", severity: 3.0),\n],",
            r#"hidden: [(fault: "F26", severity: 3.0)],"#,
        ),
    },
    Page {
        id: id::FILL,
        title: "More fuel than the tank holds, or none",
        why: "The fuel at the start must be above zero and fit into the tank.",
        example: shown(Within::Job("fill"), "fill: l(90),", "fill: l(42),"),
    },
    Page {
        id: id::UNFIT_END,
        title: "A part or joint at a node where it can't be",
        why: "A tank's outlet stands for its fuel in the open: the tee can't be fitted there, and a gear or \
              diaphragm pump needs a line before it. A jet pump fills a swirl pot and nothing else. Two tanks \
              can't have one outlet.",
        example: shown(
            Within::Plant("nodes"),
            "nodes: [\n    (name: \"tank\", height: m(0), joint: \"tank outlet\"),\n    (name: \"foot\", height: mm(30)),\n    (name: \"filter in\", height: m(0.5)),\n    (name: \"pump in\", height: m(0.5)),\n    (name: \"gallery\", height: m(0.5)),\n],",
            "nodes: [\n    (name: \"tank\", height: m(0)),\n    (name: \"foot\", height: mm(30), joint: \"tank outlet\"),\n    (name: \"filter in\", height: m(0.5)),\n    (name: \"pump in\", height: m(0.5)),\n    (name: \"gallery\", height: m(0.5)),\n],",
        ),
    },
    Page {
        id: id::NOT_BUILT,
        title: "The simulation can't be built",
        why: "Every name leads somewhere and every number makes sense, and still the equations can't be set up. \
              The message says why.",
        example: None,
    },
    Page {
        id: id::NO_TANK,
        title: "No tank",
        why: "Fuel comes from a tank; a plant may have several.",
        example: shown(Within::Plant("parts"), PARTS_WITHOUT_TANK, PARTS),
    },
    Page {
        id: id::WRONG_REFERENCE,
        title: "A field that names a node of the wrong kind",
        why: "A pot stands in a tank, a tank overflows into another tank, a float hangs in a tank: these fields \
              name the outlet of that tank. A pressure sensor sits at a node in the lines.",
        example: shown(Within::Plant("parts"), PARTS_OVERFLOWING_INTO_A_LINE, PARTS),
    },
    Page {
        id: id::PUMPS_IN_SERIES,
        title: "Two pumps of fixed flow with no fuel between them",
        why: "A gear or diaphragm pump moves so much a turn. With hardly any fuel between two of them the \
              slightest difference moves the pressure there by bars, on a vehicle as in the simulation. A line, \
              a filter or a few millilitres belong between.",
        example: shown(Within::Plant("parts"), PARTS_WITH_PUMPS_IN_SERIES, PARTS),
    },
    Page {
        id: id::OPPOSED_PUMPS,
        title: "Pumps that push against each other",
        why: "Two pumps deliver into one space, and neither a way to the engine nor one to a tank leads out of it.",
        example: shown(Within::Plant("parts"), PARTS_WITH_OPPOSED_PUMPS, PARTS),
    },
    Page {
        id: id::EMPTY_CIRCUIT,
        title: "An electric pump without a circuit",
        why: "The current comes over fuse, relay and plugs and goes back over an earth. Each is a joint with a \
              name and a resistance, between which a learner measures voltage drops; feed and earth need one each.",
        example: shown(Within::Plant("parts"), PARTS_WITHOUT_FEED, PARTS_WITH_FEED),
    },
    Page {
        id: id::MODIFIER,
        title: "A modifier whose numbers make no sense",
        why: "\"when\" says when a fault shows: comes and goes, above or below a temperature, below a level, beyond a \
              slope, after so long running or standing. Shares lie between 0 and 1, a slope within 60 degrees.",
        example: shown(
            Within::Job("hidden"),
            r#"hidden: [(fault: "F15", severity: 3.0, when: [Level(below: 25)])],"#,
            r#"hidden: [(fault: "F15", severity: 3.0, when: [Level(below: 0.25)])],"#,
        ),
    },
    Page {
        id: id::UNKNOWN_CANDIDATE,
        title: "No candidate has that name",
        why: "\"also_right\" names candidates of this job that count as right besides the one the hidden faults \
              belong to.",
        example: shown(
            Within::Job("also_right"),
            r#"also_right: ["plugged-strianer"],"#,
            r#"also_right: ["plugged-strainer"],"#,
        ),
    },
    Page {
        id: id::UNKNOWN_ACTION,
        title: "An action that a job can't withhold",
        why: "\"withheld\" lists what the bay doesn't offer in this job, by the word that is typed for it. What makes \
              the work safe, the sheet, time, the key and handing back can't be withheld.",
        example: shown(
            Within::Job("withheld"),
            r#"withheld: [(word: "contianer", because: "None is at hand.")],"#,
            r#"withheld: [(word: "container", because: "None is at hand.")],"#,
        ),
    },
    Page {
        id: id::UNKNOWN_JOB,
        title: "No job has that name",
        why: "A course names its jobs by their files' names without \".ron\". A job is built in or lies in the folder \
              \"jobs\" beside the folder of the course.",
        example: shown(
            Within::Course("jobs"),
            r#"jobs: [(job: "bnech", aim: "One restriction.")],"#,
            r#"jobs: [(job: "bench", aim: "One restriction.")],"#,
        ),
    },
    Page {
        id: id::COURSE_ORDER,
        title: "A course whose jobs can't be sat in its order",
        why: "What a job comes after must stand before it in the list, and a course has at least one job.",
        example: shown(
            Within::Course("jobs"),
            r#"jobs: [(job: "bench", aim: "One restriction.", after: ["bench"])],"#,
            r#"jobs: [(job: "bench", aim: "One restriction.")],"#,
        ),
    },
    Page {
        id: id::UNKNOWN_WORDS,
        title: "Words that shall differ between variants stand nowhere",
        why: "\"varies\" may put other words in the place of some that stand in the job's papers: title, customer, \
              complaint, facts, goals, traps, hints, answers and looks. They must stand there exactly so, within one text.",
        example: shown(
            Within::Job("varies"),
            r#"varies: (words: [(instead_of: "Dunhlot", one_of: ["Northfell"])]),"#,
            r#"varies: (words: [(instead_of: "Dunholt", one_of: ["Northfell"])]),"#,
        ),
    },
    Page {
        id: id::UNKNOWN_CODE,
        title: "A trouble code that no vehicle here stores",
        why: "\"codes\" lists what is stored when the vehicle comes in, by the number of the open standard. `faultbay \
              manual` lists the numbers and what each says.",
        example: shown(
            Within::Job("codes"),
            r#"codes: [(number: "P0078", rpm: 2600)],"#,
            r#"codes: [(number: "P0087", rpm: 2600)],"#,
        ),
    },
    Page {
        id: id::UNKNOWN_PICTURE,
        title: "A picture that isn't there, or can't be shown",
        why: "\"pictures\" names PNG files that lie in a folder \"pictures\" beside the folder of the jobs, without their \
              ending. A picture has at most 512 KiB, 2048 pixels on a side and two million in all, 8 bits a colour and no \
              interlacing. What a camera wrote besides is left out. Each needs words that say what is to be seen in it.",
        example: shown(
            Within::Job("pictures"),
            r#"pictures: [(name: "grye", shows: "A filter housing, grey and dry."),],"#,
            r#"pictures: [(name: "grey", shows: "A filter housing, grey and dry."),],"#,
        ),
    },
    Page {
        id: id::SEALED,
        title: "A sealed file where one is wanted that can be read",
        why: "The file begins as one that was sealed with a passphrase or for a key (the age format), so nobody reads it \
              without. A sealed pack is checked with what opens it: `faultbay check exam.pack --passphrase FILE` or `--key \
              FILE`, where FILE holds the passphrase or the key; in a terminal the passphrase is asked for. How many errors \
              each of its files has is told then, not which, because that would tell what is sealed. A job of it is sat with \
              `faultbay sit JOB --jobs exam.pack`. Who sealed it has the files that it was made from.",
        example: shown(
            Within::File,
            "-----BEGIN AGE ENCRYPTED FILE-----\nYWdlLWVuY3J5cHRpb24ub3JnL3YxCi0+IHNjcnlwdCA=\n-----END AGE ENCRYPTED FILE-----\n",
            "Course(\n    title: \"One job\",\n    aim: \"To read a supply at two joints.\",\n    jobs: [(job: \"bench\", aim: \"The run.\")],\n)\n",
        ),
    },
    Page {
        id: id::HEAVY_PRIOR,
        title: "One candidate is likelier than all others together",
        why: "With more than half of all weight on one candidate before any test, a learner who tests nothing \
              would be right too often, and the marks would say little.",
        example: shown(
            Within::Job("candidates"),
            "candidates: [\n    (name: \"plugged-filter\", label: \"Filter plugged\", weight: 9, vehicles: [(fault: \"F15\", severity: (2.0, 4.5))]),\n    (name: \"air-ingress\", label: \"Air gets in\", weight: 2, vehicles: [(fault: \"F09\", at: \"filter in\", severity: (1.5, 4.5))]),\n    (name: \"nothing-wrong\", label: \"Nothing wrong\", weight: 2, vehicles: []),\n],",
            "candidates: [\n    (name: \"plugged-filter\", label: \"Filter plugged\", weight: 3, vehicles: [(fault: \"F15\", severity: (2.0, 4.5))]),\n    (name: \"air-ingress\", label: \"Air gets in\", weight: 2, vehicles: [(fault: \"F09\", at: \"filter in\", severity: (1.5, 4.5))]),\n    (name: \"nothing-wrong\", label: \"Nothing wrong\", weight: 2, vehicles: []),\n],",
        ),
    },
    Page {
        id: id::CARD_GAPS,
        title: "The vehicle card lacks ranges",
        why: "A learner who reads a joint in a state that the card doesn't know can't judge the reading \
              \"within\" or \"outside\". The ranges are training values.",
        example: shown(Within::Job("limits"), "limits: [],", FULL_CARD),
    },
    Page {
        id: id::NO_CAUTION,
        title: "The card allows the dead-head test without its caution",
        why: "Shutting the line of a running pump is allowed only where the card says so, at idle and for a few \
              seconds. A range for dead-head must come with the time, in \"words\". On real machines many makers \
              forbid the test.",
        example: shown(Within::Job("limits"), CARD_WITHOUT_CAUTION, FULL_CARD),
    },
    Page {
        id: id::NO_LOOK,
        title: "Nothing to see at a part that a candidate blames",
        why: "Looking is the cheapest test. Parts that a candidate blames need a look, were it only that \
              nothing unusual is seen: a part without one would point away from itself.",
        example: shown(
            Within::Job("looks"),
            r#"looks: [(part: "filter", sees: "Dusty and dry.")],"#,
            "looks: [\n    (part: \"filter\", sees: \"Dusty and dry.\"),\n    (part: \"strainer\", sees: \"Inside the tank.\"),\n    (part: \"pump\", sees: \"Dry.\"),\n],",
        ),
    },
    Page {
        id: id::GAUGE,
        title: "The fuel gauge disagrees with the fuel",
        why: "The gauge shows a share that is more than a tenth from what is in the tank. That may be the job; \
              more often one of the two was changed and the other forgotten.",
        example: shown(Within::Job("fuel_gauge"), "fuel_gauge: 0.25,", "fuel_gauge: 0.67,"),
    },
    Page {
        id: id::FEW_CANDIDATES,
        title: "Too few candidates to reason about",
        why: "With two candidates a coin is right every other time. Three to ten are usual.",
        example: shown(
            Within::Job("candidates"),
            "candidates: [\n    (name: \"plugged-filter\", label: \"Filter plugged\", weight: 1, vehicles: [(fault: \"F15\", severity: (2.0, 4.5))]),\n    (name: \"nothing-wrong\", label: \"Nothing wrong\", weight: 1, vehicles: []),\n],",
            "candidates: [\n    (name: \"plugged-filter\", label: \"Filter plugged\", weight: 3, vehicles: [(fault: \"F15\", severity: (2.0, 4.5))]),\n    (name: \"air-ingress\", label: \"Air gets in\", weight: 2, vehicles: [(fault: \"F09\", at: \"filter in\", severity: (1.5, 4.5))]),\n    (name: \"nothing-wrong\", label: \"Nothing wrong\", weight: 2, vehicles: []),\n],",
        ),
    },
    Page {
        id: id::DEAD_HEADED,
        title: "A pump of fixed flow that nothing relieves",
        why: "A gear pump moves so much a turn whatever the pressure. Where a shut valve, or an engine that burns \
              less, leaves the rest no way out, something would burst. Vehicles have a relief or an overflow there.",
        example: shown(Within::Plant("parts"), PARTS_WITHOUT_OVERFLOW, PARTS),
    },
    Page {
        id: id::NO_VENT,
        title: "A tank without a vent",
        why: "What is drawn out of a tank must be replaced by air. A healthy plant breathes; a blocked vent is a \
              fault that a job puts in.",
        example: shown(Within::Plant("parts"), PARTS_WITHOUT_VENT, PARTS),
    },
    Page {
        id: id::IDLE_RELIEF,
        title: "A relief where no pump pushes",
        why: "A relief opens when the pressure before it is high. In a suction line it never is, so the relief \
              does nothing; probably it belongs behind the pump.",
        example: shown(Within::Plant("parts"), PARTS_WITH_RELIEF_IN_SUCTION, PARTS),
    },
    Page {
        id: id::HONEST_GAUGE,
        title: "A gauge that is said to lie and doesn't",
        why: "\"gauge_lies\" keeps the check from complaining about a fuel gauge that shows another level than the \
              tank has. Here both agree, so one of the numbers isn't what was meant.",
        example: shown(Within::Job("gauge_lies"), "gauge_lies: true,", "gauge_lies: false,"),
    },
    Page {
        id: id::LEVEL_DROPS,
        title: "An easier job follows a harder one",
        why: "A course leads from easy to hard: beginner, intermediate, advanced, expert. Learners read the order as \
              advice; a step down is seldom meant.",
        example: shown(
            Within::File,
            "Course(\n    title: \"Two jobs\",\n    aim: \"To read a supply at two joints.\",\n    jobs: [\n        (job: \"hard\", aim: \"Second.\"),\n        (job: \"bench\", aim: \"First.\"),\n    ],\n)\n",
            "Course(\n    title: \"Two jobs\",\n    aim: \"To read a supply at two joints.\",\n    jobs: [\n        (job: \"bench\", aim: \"First.\"),\n        (job: \"hard\", aim: \"Second.\"),\n    ],\n)\n",
        ),
    },
    Page {
        id: id::PLACEHOLDER,
        title: "A sentence of the blank page is still there",
        why: "A new file holds sentences that only say what belongs in their place. Whoever sits the job would read \
              them: they are written over, or the line is taken out.",
        example: shown(
            Within::Job("complaint"),
            r#"complaint: "Say here what the customer says.","#,
            r#"complaint: "Since Monday it won't pull up the hill.","#,
        ),
    },
];
