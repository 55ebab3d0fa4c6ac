//! A joint that is opened while the line is under pressure lets it go, breach or not.

use faultbay::attempt::Sitting;
use faultbay::bay::observation::Answer;
use faultbay::bay::words::{self, Said, Terms};
use faultbay::scenario::{Library, load_job};

/// The petrol line with its second transducer still in it, mbar.
fn second(sitting: &Sitting) -> f64 {
    sitting.observe().second.expect("a second transducer").1
}

#[test]
fn a_line_opened_under_pressure_keeps_none() {
    let (job, _) = load_job(&Library::builtin(), "the-silent-key").unwrap_or_else(|r| panic!("{r}"));
    let terms = Terms::of(&job);
    let mut sitting = Sitting::begin(job, 5, None).unwrap();
    let say = |sitting: &mut Sitting, line: &str| match words::read(line, &terms, sitting.now()) {
        Ok(Some(Said::Do(action))) => {
            let answer = sitting.act(&action);
            assert!(matches!(answer, Answer::Done { .. }), "{line}: {answer:?}");
        }
        other => panic!("{line}: {other:?}"),
    };
    for line in [
        "safe protection",
        "safe ventilation",
        "safe extinguisher",
        "safe chocks",
        "safe drip-tray",
        "safe pressure-away",
        "fit \"rail in\"",
        "range pressure",
        "purge",
        "zero",
        "second \"module out\"",
        "key on",
        "crank 8",
        "wait 20",
        "key off",
        "wait 5",
    ] {
        say(&mut sitting, line);
    }
    let under = second(&sitting);
    assert!(under > 2000.0, "{under} mbar");
    say(&mut sitting, "remove");
    let after = second(&sitting);
    // in the minutes of work after it a closed stretch may warm; what the bay calls under pressure begins at 300
    assert!(after.abs() < 300.0, "{after} mbar of {under} are left");
    assert!(sitting.breaches().iter().any(|b| b.rule == "petrol-spray"), "{:?}", sitting.breaches());
}
