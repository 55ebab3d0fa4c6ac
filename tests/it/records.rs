//! What machines read: the mark's JSON against its schema, and statements for a learning record store
//! against the rules of IEEE 9274.1.1 that they promise.

use std::collections::BTreeSet;

use faultbay::marking::model::Mark;
use faultbay::report::json;
use faultbay::report::xapi::{Options, statements};
use faultbay::scenario::model::Mode;
use serde_json::Value;

use crate::debrief::{DEMOS, demo};
use crate::shell::Folder;

// ---- the schema -----------------------------------------------------------------------------

/// Keywords of JSON Schema that ours uses; each is understood below or only describes.
const KNOWN: [&str; 19] = [
    "$schema",
    "$id",
    "$ref",
    "$defs",
    "title",
    "description",
    "type",
    "enum",
    "required",
    "properties",
    "items",
    "prefixItems",
    "minItems",
    "maxItems",
    "minimum",
    "maximum",
    "minLength",
    "pattern",
    "anyOf",
];

/// Holds a value against a schema; what is wrong goes to `faults`, with its place.
fn hold(value: &Value, schema: &Value, root: &Value, at: &str, faults: &mut Vec<String>) {
    if let Some(name) = schema["$ref"].as_str() {
        let target = root.pointer(name.trim_start_matches('#')).unwrap_or_else(|| panic!("{name} isn't there"));
        hold(value, target, root, at, faults);
    }
    let mut wrong = |what: String| faults.push(format!("{at}: {what}"));
    let types: Vec<&str> = match &schema["type"] {
        Value::String(one) => vec![one],
        Value::Array(several) => several.iter().filter_map(Value::as_str).collect(),
        _ => vec![],
    };
    let is = |name: &&str| match *name {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_u64() || value.is_i64(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        other => panic!("type {other}"),
    };
    if !types.is_empty() && !types.iter().any(is) {
        return wrong(format!("{value} isn't {types:?}"));
    }
    if let Some(list) = schema["enum"].as_array()
        && !list.contains(value)
    {
        wrong(format!("{value} isn't one of {list:?}"));
    }
    if let Some(number) = value.as_f64() {
        if schema["minimum"].as_f64().is_some_and(|least| number < least) {
            wrong(format!("{number} is too small"));
        }
        if schema["maximum"].as_f64().is_some_and(|most| number > most) {
            wrong(format!("{number} is too large"));
        }
    }
    if let Some(text) = value.as_str() {
        if schema["minLength"].as_u64().is_some_and(|least| (text.chars().count() as u64) < least) {
            wrong("too short".to_owned());
        }
        if let Some(pattern) = schema["pattern"].as_str()
            && !fits(pattern, text)
        {
            wrong(format!("{text:?} doesn't fit {pattern}"));
        }
    }
    if let Some(choices) = schema["anyOf"].as_array() {
        let any = choices.iter().any(|choice| {
            let mut inner = vec![];
            hold(value, choice, root, at, &mut inner);
            inner.is_empty()
        });
        if !any {
            faults.push(format!("{at}: {value} fits none of the choices"));
        }
    }
    if let Some(list) = value.as_array() {
        let count = list.len() as u64;
        if schema["minItems"].as_u64().is_some_and(|n| count < n)
            || schema["maxItems"].as_u64().is_some_and(|n| count > n)
        {
            faults.push(format!("{at}: {count} items"));
        }
        let first = schema["prefixItems"].as_array().map_or(&[][..], Vec::as_slice);
        for (i, item) in list.iter().enumerate() {
            if let Some(of) = first.get(i).or_else(|| schema.get("items")) {
                hold(item, of, root, &format!("{at}/{i}"), faults);
            }
        }
    }
    if let Some(map) = value.as_object() {
        for name in schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str) {
            if !map.contains_key(name) {
                faults.push(format!("{at}: {name} is missing"));
            }
        }
        for (name, inner) in map {
            if let Some(of) = schema["properties"].get(name) {
                hold(inner, of, root, &format!("{at}/{name}"), faults);
            }
        }
    }
}

/// The patterns that the schema uses, each written out.
fn fits(pattern: &str, text: &str) -> bool {
    let hex = |text: &str| text.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b));
    match pattern {
        "^[0-9a-f]{32}$" => text.len() == 32 && hex(text),
        "^[0-9a-f]+$" => !text.is_empty() && hex(text),
        "^[A-Z][A-Za-z]*$" => {
            text.starts_with(|c: char| c.is_ascii_uppercase()) && text.bytes().all(|b| b.is_ascii_alphabetic())
        }
        "^[a-z]+(\\.[a-z-]+)*$" => text.split('.').enumerate().all(|(i, part)| {
            !part.is_empty() && part.bytes().all(|b| b.is_ascii_lowercase() || (i > 0 && b == b'-'))
        }),
        other => panic!("write the pattern {other} out here"),
    }
}

fn schema() -> Value {
    serde_json::from_str(json::SCHEMA).unwrap()
}

#[track_caller]
fn faults(mark: &Value) -> Vec<String> {
    let mut list = vec![];
    hold(mark, &schema(), &schema(), "", &mut list);
    list
}

/// Every schema in a schema.
fn each<'s>(schema: &'s Value, visit: &mut dyn FnMut(&'s Value)) {
    visit(schema);
    if let Some(items) = schema.get("items") {
        each(items, visit);
    }
    for key in ["properties", "$defs"] {
        schema[key].as_object().into_iter().flatten().for_each(|(_, s)| each(s, visit));
    }
    for key in ["prefixItems", "anyOf"] {
        schema[key].as_array().into_iter().flatten().for_each(|s| each(s, visit));
    }
}

#[test]
fn the_schema_uses_only_what_is_understood_here() {
    each(&schema(), &mut |s| {
        for key in s.as_object().unwrap().keys() {
            assert!(KNOWN.contains(&key.as_str()), "{key}");
        }
    });
}

#[test]
fn every_demo_fits_the_schema_and_every_field_is_described() {
    let schema = schema();
    for name in DEMOS {
        let mark: Value = serde_json::from_str(&json::mark(&demo(name).2)).unwrap();
        assert_eq!(faults(&mark), [""; 0], "{name}");
        for field in mark.as_object().unwrap().keys() {
            let words = schema["properties"][field]["description"].as_str();
            assert!(
                words.is_some_and(|w| w.ends_with('.')),
                "“{field}” isn't described in assets/schema/mark.schema.json"
            );
        }
    }
}

#[test]
fn a_mark_that_lies_does_not_fit() {
    let good: Value = serde_json::from_str(&json::mark(&demo("filter-careful").2)).unwrap();
    let changes: [(&str, Value); 9] = [
        ("/total", 100.5.into()),
        ("/outcome", "competent".into()),
        ("/seed", "7".into()),
        ("/trace_hash", "XYZ".into()),
        ("/components/0/share", 1.5.into()),
        ("/ledger/0/hundredths", 0.5.into()),
        ("/ledger/0/component", 3.into()),
        ("/beliefs/0/justified/0", (-0.1).into()),
        ("/submitted/1", 100.into()),
    ];
    for (place, value) in changes {
        let mut bad = good.clone();
        *bad.pointer_mut(place).unwrap() = value;
        let found = faults(&bad);
        assert!(found.len() == 1 && found[0].starts_with(place), "{place}: {found:?}");
    }
    let mut bad = good;
    bad.as_object_mut().unwrap().remove("ledger");
    assert_eq!(faults(&bad), [": ledger is missing"]);
}

// ---- statements -----------------------------------------------------------------------------

fn told(name: &str, mode: Mode, options: &Options) -> Vec<Value> {
    let (mut job, attempt, mark) = demo(name);
    job.mode = mode;
    let text = statements(&job, &attempt, &mark, options).unwrap();
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

fn verb(statement: &Value) -> &str {
    statement["verb"]["id"].as_str().unwrap().rsplit('/').next().unwrap()
}

#[test]
fn statements_hold_to_the_data_model() {
    let options = Options { started: Some("2026-03-14T09:00:00Z".to_owned()), ..Options::default() };
    for name in DEMOS {
        let list = told(name, Mode::Practice, &options);
        let mut ids = BTreeSet::new();
        let mut last = String::new();
        for s in &list {
            let keys: Vec<&str> = s.as_object().unwrap().keys().map(String::as_str).collect();
            let allowed = ["actor", "context", "id", "object", "result", "timestamp", "verb"];
            assert!(keys.iter().all(|k| allowed.contains(k)), "{name}: {keys:?}");
            let id = s["id"].as_str().unwrap();
            assert!(id.len() == 36 && id.as_bytes()[14] == b'5', "a name-based UUID: {id}");
            assert!(ids.insert(id.to_owned()), "{id} stands twice");
            assert_eq!(s["actor"]["objectType"], "Agent");
            assert!(s["actor"]["account"]["homePage"].as_str().unwrap().starts_with("https://"));
            assert!(s["actor"].get("mbox").is_none() && s["actor"].get("name").is_none());
            assert!(s["verb"]["id"].as_str().unwrap().starts_with("http://adlnet.gov/expapi/verbs/"));
            let kind = s["object"]["definition"]["type"].as_str().unwrap();
            assert!(kind.starts_with("http://adlnet.gov/expapi/activities/"), "{kind}");
            assert_eq!(s["context"]["registration"], list[0]["context"]["registration"]);
            assert!(s["context"]["contextActivities"]["category"][0]["id"].is_string());
            for holder in [&s["context"]["extensions"], &s["result"]["extensions"]] {
                for key in holder.as_object().into_iter().flatten().map(|(k, _)| k) {
                    assert!(key.starts_with("https://"), "an extension is named by an IRI: {key}");
                }
            }
            let score = &s["result"]["score"];
            if let Some(raw) = score["raw"].as_f64() {
                let (min, max) = (score["min"].as_f64().unwrap(), score["max"].as_f64().unwrap());
                assert!(min <= raw && raw <= max && min < max, "{score}");
                assert!((-1.0..=1.0).contains(&score["scaled"].as_f64().unwrap()), "{score}");
            }
            let time = s["timestamp"].as_str().unwrap();
            assert!(time.len() == 24 && time.ends_with('Z') && time >= last.as_str(), "{time} after {last}");
            last = time.to_owned();
        }
        let verbs: Vec<&str> = list.iter().map(verb).collect();
        assert_eq!((verbs[0], verbs[verbs.len() - 1]), ("initialized", "terminated"), "{name}");
        assert_eq!(verbs.iter().filter(|v| **v == "completed").count(), 1, "{name}");
    }
}

#[test]
fn nothing_says_who_it_was_and_exporting_twice_adds_nothing() {
    let (job, attempt, mark) = demo("filter-careful");
    let text = statements(&job, &attempt, &mark, &Options::default()).unwrap();
    assert!(!text.contains("Odalys") && !text.contains("Brennick"));
    assert_eq!(text, statements(&job, &attempt, &mark, &Options::default()).unwrap());
    let other = Options { base: "https://records.brackmoor.example".to_owned(), ..Options::default() };
    let id = |text: &str| serde_json::from_str::<Value>(text.lines().next().unwrap()).unwrap()["id"].clone();
    assert_ne!(id(&text), id(&statements(&job, &attempt, &mark, &other).unwrap()));
    assert!(!text.contains("timestamp"), "no start was given");
}

#[test]
fn an_open_assessment_tells_neither_right_nor_wrong() {
    for name in DEMOS {
        let list = told(name, Mode::Assessment, &Options::default());
        for s in &list {
            let text = s.to_string();
            for word in ["success", "score", "posterior", "correctResponsesPattern", "explanation", "mark-hash"] {
                assert!(!text.contains(word), "{name}: {word} in {text}");
            }
            assert!(!["scored", "passed", "failed"].contains(&verb(s)), "{name}");
        }
        let released = told(name, Mode::Assessment, &Options { released: true, ..Options::default() });
        assert!(released.iter().any(|s| verb(s) == "scored"), "{name}");
    }
}

#[test]
fn a_passed_a_failed_and_a_reviewed_sitting_end_as_they_should() {
    let ends = |name: &str| {
        told(name, Mode::Practice, &Options::default()).iter().map(verb).map(str::to_owned).collect::<Vec<_>>()
    };
    let has = |list: &[String], verb: &str| list.iter().any(|v| v == verb);
    let careful = ends("filter-careful");
    assert!(has(&careful, "passed") && !has(&careful, "failed"));
    let lucky = ends("filter-lucky");
    assert!(has(&lucky, "failed") && !has(&lucky, "passed"));
    let (job, attempt, mut mark) = demo("filter-careful");
    mark.outcome = faultbay::marking::model::Outcome::Review;
    let text = statements(&job, &attempt, &mark, &Options::default()).unwrap();
    assert!(text.contains("verbs/completed") && !text.contains("verbs/passed") && !text.contains("verbs/failed"));
}

#[test]
fn a_reading_that_counts_as_right_lies_in_its_pattern() {
    let mut judged = 0;
    for name in DEMOS {
        for s in told(name, Mode::Practice, &Options::default()) {
            let definition = &s["object"]["definition"];
            if definition["interactionType"] != "numeric" {
                continue;
            }
            let value: f64 = s["result"]["response"].as_str().unwrap().parse().unwrap();
            let pattern = definition["correctResponsesPattern"][0].as_str().unwrap();
            let (low, high) = pattern.split_once("[:]").unwrap();
            let inside = (low.parse::<f64>().unwrap()..=high.parse().unwrap()).contains(&value);
            if s["result"]["success"] == true {
                judged += 1;
                assert!(inside, "{name}: {value} counts as right, but lies outside {pattern}");
            }
        }
    }
    assert!(judged > 5, "{judged}");
}

// ---- an assessor's decision -----------------------------------------------------------------

/// Runs the command on a stored mark; gives what was said and the mark that was written.
fn overridden(more: &[&str]) -> (crate::shell::Ran, Option<Mark>) {
    let folder = Folder::new();
    let from = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/filter-lucky.mark.json");
    let mut command = folder.command("override");
    command.arg(from).args(["--json", "out.json"]).args(more);
    let done = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    let ran = crate::shell::Ran { code: done.status.code(), out: text(done.stdout), err: text(done.stderr) };
    let mark = folder.has("out.json").then(|| serde_json::from_str(&folder.read("out.json")).unwrap());
    (ran, mark)
}

const WHO: [&str; 4] = ["--assessor", "Ife Marlowe", "--role", "appeal panel"];
const WHY: [&str; 2] = ["--reason", "The filter had been cut open before, and the record says so."];

#[test]
fn a_decision_stands_beside_the_computed_mark() {
    let (_, _, before) = demo("filter-lucky");
    let change = ["--outcome", "reached", "--component", "D=0.5", "--component", "J=0,5"];
    let (ran, mark) = overridden(&[&WHO[..], &WHY, &change].concat());
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    let mark = mark.unwrap();
    assert_eq!((mark.total, mark.outcome, &mark.ledger), (before.total, before.outcome, &before.ledger));
    let decided = &mark.overrides[0];
    assert_eq!((decided.assessor.as_str(), decided.role.as_str()), ("Ife Marlowe", "appeal panel"));
    // D and J weigh 20 and 25 points
    assert!((decided.total.unwrap() - before.total - 22.5).abs() < 0.011, "{decided:?}");
    let (job, attempt, _) = demo("filter-lucky");
    let text = statements(&job, &attempt, &mark, &Options::default()).unwrap();
    let list: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let [.., scored, voided] = &list[..] else { panic!() };
    assert_eq!((verb(scored), verb(voided)), ("scored", "voided"));
    let failed = list.iter().find(|s| verb(s) == "failed").unwrap();
    assert_eq!(voided["object"]["id"], failed["id"]);
    assert_eq!(voided["object"]["objectType"], "StatementRef");
    assert!(voided["context"].get("platform").is_none() && scored["context"].get("platform").is_some());
    assert_ne!(scored["actor"], failed["actor"]);
    assert!(!text.contains("Marlowe"), "a name is exported");
    assert_eq!(statements(&job, &attempt, &before, &Options::default()).unwrap().lines().count() + 2, list.len());
    let head = faultbay::report::debrief::Head::of(&faultbay::scenario::Library::builtin(), &job);
    let page = faultbay::report::debrief::debrief(&job, &attempt, &mark, &head).unwrap();
    let page = faultbay::report::html::page(&page).unwrap();
    assert!(
        page.contains("Ife Marlowe, appeal panel") && page.contains("cut open before"),
        "both stand in the debrief"
    );
}

#[test]
fn a_decision_without_name_reason_or_change_is_refused() {
    let refused = |more: &[&str], says: &str| {
        let (ran, mark) = overridden(more);
        assert_eq!(ran.code, Some(2));
        assert!(mark.is_none() && ran.err.contains(says), "{}", ran.err);
    };
    refused(&[&WHO[..], &WHY].concat(), "give --outcome or --component");
    refused(&[&WHO[..], &["--reason", "because", "--outcome", "reached"]].concat(), "a reason");
    refused(&[&["--assessor", " ", "--role", "panel", "--outcome", "reached"], &WHY[..]].concat(), "a name");
    refused(&[&WHO[..], &WHY, &["--component", "Z=1"]].concat(), "D, J, X, S, M, P, C and R");
    refused(&[&WHO[..], &WHY, &["--component", "D=1.5"]].concat(), "between 0 and 1");
}
