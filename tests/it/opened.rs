//! The wall, opened after hand-back: what the profiles say must be what the instruments showed and what the fault did.

use faultbay::attempt::{Attempt, Event, ReplayError, open, open_watched, replay};
use faultbay::bay::action::{Action, SECOND};
use faultbay::bay::opened::{Gas, Opened, along};
use faultbay::report::plot::opened::{figure, telling, words};
use faultbay::scenario::model::Job;
use faultbay::scenario::{Kind, Library, load_job, load_plant};

use crate::debrief::demo;

fn opened(name: &str) -> (Job, Attempt, Opened) {
    let (job, attempt, _) = demo(name);
    let opened = open(&job, &attempt).unwrap_or_else(|e| panic!("{name}: {e}"));
    (job, attempt, opened)
}

#[test]
fn the_wall_stays_shut_until_the_vehicle_is_handed_back() {
    let (job, attempt, _) = demo("filter-careful");
    let last = attempt.entries().len() - 1;
    assert!(matches!(attempt.entries()[last].event, Event::Act(Action::HandBack)));
    assert_eq!(open(&job, &attempt.first(last)).err(), Some(ReplayError::NotOver));
    assert!(open(&job, &attempt).is_ok());
}

#[test]
fn whoever_waits_sees_how_far_it_is_and_can_leave() {
    let (job, attempt, _) = demo("filter-careful");
    let mut shares = vec![];
    let whole = open_watched(&job, &attempt, &mut |share| {
        shares.push(share);
        true
    });
    assert!(whole.is_ok());
    assert!(shares.windows(2).all(|w| w[0] <= w[1]), "never backwards");
    assert!(shares.first() == Some(&0.0) && shares.last().is_some_and(|s| (0.9..1.0).contains(s)), "{shares:?}");
    let most = shares.windows(2).map(|w| w[1] - w[0]).fold(0.0, f64::max);
    assert!(most < 0.1, "no leap: {most}");
    // in the replay, and in the sound vehicle's turn
    for until in [0.2, 0.8] {
        let left = open_watched(&job, &attempt, &mut |share| share < until);
        assert_eq!(left.err(), Some(ReplayError::Left), "{until}");
    }
}

#[test]
fn what_the_tee_showed_lies_on_the_profile() {
    let (job, attempt, opened) = opened("filter-careful");
    let trace = replay(&job, &attempt).unwrap().trace().clone();
    let mut compared = 0;
    let last =
        |word: &str, at: u64| trace.ticks.iter().filter(|t| t.word == word && t.at <= at).map(|t| t.at).max();
    for moment in &opened.moments {
        let Some(tee) = moment.tee else { continue };
        // before it is zeroed the transducer shows its offset too
        if last("zeroed", moment.at) <= last("tee fitted", moment.at) {
            continue;
        }
        // where the trace is calm, or lag, ripple and noise would be compared
        let around = trace.range(moment.at.saturating_sub(SECOND), moment.at + SECOND);
        let values: Vec<f64> = around.map(|i| trace.mbar[i]).filter(|v| v.is_finite()).collect();
        let (low, high) = values.iter().fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(*v), h.max(*v)));
        if values.len() < 50 || high - low > 8.0 {
            continue;
        }
        compared += 1;
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        // what is left of the offset, the span's error and the noise
        assert!((mean - tee.spot.mbar).abs() < 8.0, "{} µs: shown {mean}, true {}", moment.at, tee.spot.mbar);
    }
    assert!(compared > 100, "only {compared} moments were calm");
}

#[test]
fn a_plugged_filter_drops_more_than_a_sound_one_until_it_is_changed() {
    let (_, _, opened) = opened("filter-careful");
    let filter = opened.parts.iter().position(|p| p.part == "filter").unwrap();
    let drop = |i: usize| {
        let of = |m: &faultbay::bay::opened::Moment| m.spots[filter].mbar - m.spots[filter + 1].mbar;
        (of(&opened.moments[i]), of(&opened.sound[i]))
    };
    let fast = |i: &usize| opened.moments[*i].rpm > 2400.0;
    let first = (0..opened.moments.len()).find(fast).unwrap();
    let (here, sound) = drop(first + 3 * SECOND as usize / 200_000);
    assert!(here > 2.0 * sound && sound > 5.0, "{here} against {sound}");
    let said = telling(&opened, None).into_iter().map(|i| words(&opened, i).join(" ")).collect::<Vec<_>>();
    assert!(said.iter().any(|s| s.contains("Over the filter with hand primer:")), "{said:#?}");
}

#[test]
fn air_that_comes_in_at_a_joint_stands_behind_it_and_not_before() {
    let (_, _, opened) = opened("air-careful");
    let most = |kind: Gas| {
        let share = |m: &faultbay::bay::opened::Moment| {
            m.spots.iter().filter(|s| s.kind() == Some(kind)).map(|s| s.mean_gas()).fold(0.0, f64::max)
        };
        opened.moments.iter().filter(|m| m.rpm > 500.0).map(share).fold(0.0, f64::max)
    };
    assert!(most(Gas::LetIn) > 0.01, "{}", most(Gas::LetIn));
    let said: Vec<String> = telling(&opened, None).into_iter().flat_map(|i| words(&opened, i)).collect();
    assert!(said.iter().any(|s| s.starts_with("Air from outside")), "{said:#?}");
}

#[test]
fn a_sound_vehicle_is_its_own_neighbour() {
    let (_, _, opened) = opened("healthy-careful");
    // the kit's own mistakes apart, which this job's vehicle hasn't
    for (here, sound) in opened.moments.iter().zip(&opened.sound) {
        for (a, b) in here.spots.iter().zip(&sound.spots) {
            assert!((a.mbar - b.mbar).abs() < 3.0, "{} µs: {} and {}", here.at, a.mbar, b.mbar);
        }
    }
}

#[test]
fn moments_rise_and_figures_come_of_every_demo() {
    for name in crate::debrief::DEMOS {
        let (_, _, opened) = opened(name);
        assert_eq!(opened.moments.len(), opened.sound.len());
        assert!(opened.moments.windows(2).all(|w| w[0].at <= w[1].at), "{name}");
        assert!(opened.moments.iter().zip(&opened.sound).all(|(a, b)| a.at == b.at), "{name}");
        let told = telling(&opened, None);
        assert!((1..=3).contains(&told.len()), "{name}: {told:?}");
        for i in told {
            let figure = figure(&opened, i).unwrap();
            assert!(!figure.words.is_empty() && figure.table.rows.len() >= opened.places.len(), "{name}");
        }
    }
}

#[test]
fn every_plant_has_a_line_from_tank_to_engine() {
    for name in Library::builtin().names(Kind::Plant) {
        let plant = load_plant(&Library::builtin(), &name).expect("a built-in plant").0;
        let (places, parts) = along(&plant);
        assert!(
            places.len() >= 3 && parts.len() + 1 == places.len(),
            "{name}: {} and {}",
            places.len(),
            parts.len()
        );
        for (i, part) in parts.iter().enumerate() {
            let ends = plant.part(&part.part).unwrap().is.ends();
            assert_eq!(ends[..2], [places[i].node.as_str(), places[i + 1].node.as_str()], "{name}");
        }
    }
}

#[test]
fn a_petrol_job_opens_too() {
    let library = Library::builtin();
    let (job, _) = load_job(&library, "the-silent-key").unwrap_or_else(|_| unreachable!());
    let mut sitting = faultbay::attempt::Sitting::begin(job.clone(), 3, None).unwrap();
    for action in [
        Action::Key { to: faultbay::bay::action::Key::On },
        Action::Wait { secs: 3.0 },
        Action::Crank { secs: 8.0 },
        Action::Wait { secs: 20.0 },
        Action::Key { to: faultbay::bay::action::Key::Off },
        Action::Wait { secs: 30.0 },
        Action::HandBack,
    ] {
        let _ = sitting.act(&action);
    }
    assert!(sitting.is_over());
    let opened = open(&job, sitting.attempt()).unwrap();
    let pushed = opened.moments.iter().flat_map(|m| m.spots.last()).map(|s| s.mbar).fold(f64::MIN, f64::max);
    assert!(pushed > 1000.0, "the pump pushes: {pushed}");
    let limits: Vec<f64> = opened.moments[0].spots.iter().map(|s| s.boils_mbar).collect();
    assert!(limits.iter().all(|v| (-990.0..-100.0).contains(v)), "petrol boils below {limits:?}");
}
