//! What each id means about words and faults that don't belong together: the last of the codes.

use super::{Page, Within, id, shown};

/// Every such page in the order of the codes.
pub(super) static PAGES: &[Page] = &[
    Page {
        id: id::LABEL_MISFITS,
        title: "A candidate's label speaks of another fault than its vehicles",
        why: "The label is what the learner reads and picks; the vehicles are what the mark means. When the label is the \
              catalogue's name of another fault, or names another part of the same kind, one of the two was changed and \
              the other stayed.",
        example: shown(
            Within::Job("candidates"),
            r#"candidates: [
        (name: "plugged-filter", label: "Tank vent blocked", weight: 3, vehicles: [(fault: "F15", severity: (2.0, 4.5))]),
        (name: "plugged-strainer", label: "Strainer plugged", weight: 2, vehicles: [(fault: "F03", severity: (2.0, 4.5))]),
        (name: "nothing-wrong", label: "Nothing wrong", weight: 3, vehicles: []),
    ],"#,
            r#"candidates: [
        (name: "plugged-filter", label: "Filter element plugged", weight: 3, vehicles: [(fault: "F15", severity: (2.0, 4.5))]),
        (name: "plugged-strainer", label: "Strainer plugged", weight: 2, vehicles: [(fault: "F03", severity: (2.0, 4.5))]),
        (name: "nothing-wrong", label: "Nothing wrong", weight: 3, vehicles: []),
    ],"#,
        ),
    },
    Page {
        id: id::TRAP_MISFITS,
        title: "A trap that the right work steps into, or nobody can",
        why: "A snare says how it is known that somebody stepped into a trap, and the debrief tells them so. It names \
              causes that are wrong and parts that are sound: after the hidden fault was changed it may name the right \
              ones.",
        example: shown(
            Within::Job("traps"),
            r#"traps: ["The pump hums and is changed all the same"], snares: [(trap: 1, named: ["plugged-filter"])],"#,
            r#"traps: ["The pump hums and is changed all the same"], snares: [(trap: 1, named: ["worn-pump"])],"#,
        ),
    },
    Page {
        id: id::ALSO_RIGHT_MISFITS,
        title: "A second right answer that is none",
        why: "\"also_right\" names candidates that count as right besides the one that the hidden faults belong to. That \
              one is right anyway, and \"nothing wrong\" can't be right where the supply has a fault.",
        example: shown(
            Within::Job("also_right"),
            r#"also_right: ["nothing-wrong"],"#,
            r#"also_right: ["plugged-strainer"],"#,
        ),
    },
    Page {
        id: id::ANSWER_TOLD,
        title: "The papers tell the answer",
        why: "Title, complaint, facts, hints, questions and looks are read before the finding. When the right candidate's \
              label stands in them word for word, or what the trade calls the hidden fault (\"filter choked\", \"sucks \
              air\"), the job asks for reading and not for testing. What a look shows, a question and what is denied are \
              no telling.",
        example: shown(
            Within::Job("complaint"),
            r#"complaint: "It has no pull. A mate says: filter plugged.","#,
            r#"complaint: "It has no pull, worst on the long hill.","#,
        ),
    },
    Page {
        id: id::SHOWS_NOTHING,
        title: "What is hidden shows nothing",
        why: "The vehicle with its hidden faults is driven through every test that the job allows, beside a sound one. When \
              no reading leaves the card or the sound vehicle's beyond doubt, the engine starts and runs like it and every \
              look gives the same word, the customer would have nothing to complain of and nobody could find the cause. \
              Either the severity is too low, or the fault waits (\"when\") for what never comes in this job: a level, a \
              temperature, a slope, an hour's running.",
        example: shown(
            Within::Job("hidden"),
            r#"hidden: [(fault: "F15", severity: 3.0, when: [Level(below: 0.05)])],"#,
            r#"hidden: [(fault: "F15", severity: 3.0)],"#,
        ),
    },
    Page {
        id: id::SEALED_REMARKS,
        title: "Warnings in a file of a sealed pack",
        why: "The check warns of something in a file that came sealed. What it is isn't shown, because that could tell what \
              is sealed. Check the file that the pack was made from.",
        example: None,
    },
    Page {
        id: id::UNUSUAL_SEVERITY,
        title: "A severity that the fault doesn't come in",
        why: "Every fault of the catalogue has severities that are met: a non-return valve that doesn't seat, 1 to 4, stops no \
              engine by itself. Beyond them a vehicle can be simulated, but what it shows is what no workshop sees.",
        example: shown(
            Within::Job("hidden"),
            r#"hidden: [(fault: "F26", severity: 1.5)],"#,
            r#"hidden: [(fault: "F26", severity: 3.0)],"#,
        ),
    },
    Page {
        id: id::CARD_MISSES_SOUND,
        title: "The card calls a sound vehicle faulty",
        why: "The sound vehicle of the file is driven through the standard run with the tee at every joint. Where its reading \
              lies well outside the range that the card has for that joint and state, whoever trusts the card looks for a \
              fault that isn't there. \"faultbay preview PLANT --card\" proposes a card from what the vehicle reads.",
        example: shown(
            Within::Job("limits"),
            r#"limits: [(joint: "pump in", state: "idle", low: mbar(200), high: mbar(300))],"#,
            r#"limits: [(joint: "pump in", state: "idle", low: mbar(-150), high: mbar(0))],"#,
        ),
    },
    Page {
        id: id::OTHER_FUEL,
        title: "Petrol belongs into a diesel, or diesel into a petrol engine",
        why: "The fuel of a job is the one that belongs into its vehicle on that day, such as winter diesel: nobody finds it \
              wrong. A tank that somebody filled with the wrong fuel is the fault F06, with a candidate for it.",
        example: shown(Within::Job("fuel"), "fuel: Petrol,", "fuel: WinterDiesel,"),
    },
    Page {
        id: id::WAITS_ALONE,
        title: "Hidden with another \"when\" than its candidate",
        why: "Belief, par and marks are weighed by vehicles of every candidate. When the hidden fault shows under a condition \
              (\"when\") and no vehicle of its candidate does, the readings of good work fit no candidate: the learner is \
              right and gets no points for it. The numbers in the condition may differ, its kind may not.",
        example: shown(
            Within::Job("hidden"),
            r#"hidden: [(fault: "F15", severity: 3.0, when: [AfterRunning(for_time: min(12))])],"#,
            r#"hidden: [(fault: "F15", severity: 3.0)],"#,
        ),
    },
];
