//! How long the debrief of one attempt takes: replayed and laid out, written as HTML, written as PDF. The
//! budget is 200 ms for the HTML of one attempt, its replay included.
//!
//! Figures are printed, never asserted.

use divan::Bencher;
use faultbay::attempt::Attempt;
use faultbay::marking::model::Mark;
use faultbay::report::debrief::{Head, debrief};
use faultbay::report::document::Document;
use faultbay::report::html;
use faultbay::scenario::model::Job;
use faultbay::scenario::{Library, load_job};

fn main() {
    divan::main();
}

const DEMOS: [&str; 3] = ["filter-lucky", "healthy-careful", "air-careful"];

fn read(file: &str) -> String {
    let path = format!("{}/demo-data/{file}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"))
}

fn demo(name: &str) -> (Job, Attempt, Mark) {
    let (attempt, _) = Attempt::read(read(&format!("{name}.jsonl"))).expect("a demo");
    let Ok((job, _)) = load_job(&Library::builtin(), &attempt.header().job) else { panic!("the job of {name}") };
    let mark = serde_json::from_str(&read(&format!("{name}.mark.json"))).expect("a mark");
    (job, attempt, mark)
}

fn document(name: &str) -> Document {
    let (job, attempt, mark) = demo(name);
    debrief(&job, &attempt, &mark, &Head::default()).expect("a debrief")
}

/// From the attempt and its mark to the page.
#[divan::bench(args = DEMOS)]
fn replay_and_html(bencher: Bencher<'_, '_>, name: &str) {
    let (job, attempt, mark) = demo(name);
    bencher.bench(|| {
        let document = debrief(&job, &attempt, &mark, &Head::default()).expect("a debrief");
        html::page(&document).expect("a page")
    });
}

/// The page alone.
#[divan::bench(args = DEMOS)]
fn html_alone(bencher: Bencher<'_, '_>, name: &str) {
    let document = document(name);
    bencher.bench(|| html::page(&document).expect("a page"));
}

/// The PDF alone.
#[cfg(feature = "pdf")]
#[divan::bench(args = DEMOS)]
fn pdf_alone(bencher: Bencher<'_, '_>, name: &str) {
    let document = document(name);
    bencher.bench(|| faultbay::report::pdf::write(&document).expect("a PDF"));
}
