//! The standard run's equations behind a C interface: right-hand side and exact Jacobian, compiled, for an
//! integrator in another language.

#[path = "../../../tests/oracle/programme.rs"]
#[allow(dead_code, reason = "shared with the bench, which uses the rest")]
mod programme;

use faultbay::lanes::Lanes;
use faultbay::plant::assemble::Detail;
use faultbay::plant::network::{Network, Workspace};
use faultbay::plant::step::Effort;
use programme::{Run, S, Segment, lanes, plain};

/// Plants and joints, as in the bench.
const PLANTS: [(&str, &str); 3] = [("a1-van", "pump in"), ("a4-hatchback", "rail in"), ("a7-truck", "pump in")];
const END: u64 = 600 * S;

/// A run being integrated elsewhere.
pub struct Rival {
    run: Run,
    segments: Vec<Segment>,
    net: Network<1>,
    work: Workspace<1>,
    f: Vec<Lanes<1>>,
    jacobian: Vec<Lanes<1>>,
}

fn read(y: *const f64, n: usize) -> Vec<Lanes<1>> {
    // SAFETY: the caller hands in n numbers
    lanes(unsafe { std::slice::from_raw_parts(y, n) })
}

fn write(from: impl IntoIterator<Item = f64>, to: *mut f64) {
    for (i, v) in from.into_iter().enumerate() {
        // SAFETY: the caller has room for as many numbers as the function's doc says
        unsafe { to.add(i).write(v) };
    }
}

/// A run of plant `which`; full detail or coarse. Never freed: the process ends soon.
#[unsafe(no_mangle)]
pub extern "C" fn rival_new(which: usize, full: bool) -> *mut Rival {
    let (name, joint) = PLANTS[which];
    let run = Run::of(name, joint, if full { Detail::FULL } else { Detail::COARSE }, END);
    let (segments, net) = (run.segments(), run.assembly.net.clone());
    let n = net.states();
    let (work, f, jacobian) = (net.workspace(), vec![Lanes::ZERO; n], vec![Lanes::ZERO; n * n]);
    Box::into_raw(Box::new(Rival { run, segments, net, work, f, jacobian }))
}

/// Number of states n.
///
/// # Safety
/// `r` comes from [`rival_new`]; so in all functions below, and no other call is under way.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn rival_states(r: *mut Rival) -> usize {
    unsafe { &*r }.net.states()
}

/// Number of stretches between knots.
///
/// # Safety
/// See [`rival_states`].
#[unsafe(no_mangle)]
pub unsafe extern "C" fn rival_segments(r: *mut Rival) -> usize {
    unsafe { &*r }.segments.len()
}

/// State at the start and absolute tolerances: n numbers each.
///
/// # Safety
/// See [`rival_states`].
#[unsafe(no_mangle)]
pub unsafe extern "C" fn rival_start(r: *mut Rival, y: *mut f64, tolerance: *mut f64) {
    let r = unsafe { &*r };
    write(r.run.start(), y);
    let top = &r.net.top;
    // what our stepper doesn't weigh, this one doesn't either
    let weighed = top.tolerance.iter().zip(&top.weighed).map(|(t, &w)| if w { *t } else { 1e30 });
    write(weighed, tolerance);
}

/// Goes to stretch `k`: sets how levers move in it, their places in `y` (n numbers), and gives begin and end, s.
///
/// # Safety
/// See [`rival_states`].
#[unsafe(no_mangle)]
pub unsafe extern "C" fn rival_segment(r: *mut Rival, k: usize, y: *mut f64, times: *mut f64) {
    let r = unsafe { &mut *r };
    let segment = &r.segments[k];
    r.net.rates = segment.levers.iter().map(|&(_, _, rate)| Lanes([rate])).collect();
    for &(state, value, _) in &segment.levers {
        // SAFETY: states are below n
        unsafe { y.add(state).write(value) };
    }
    write([segment.from as f64 * 1e-6, segment.to as f64 * 1e-6], times);
}

/// Right-hand side: n numbers in, n out.
///
/// # Safety
/// See [`rival_states`].
#[unsafe(no_mangle)]
pub unsafe extern "C" fn rival_rhs(r: *mut Rival, y: *const f64, f: *mut f64) {
    let r = unsafe { &mut *r };
    let y = read(y, r.net.states());
    r.net.rhs(&y, &mut r.f, &mut r.work);
    write(plain(&r.f), f);
}

/// Jacobian, row by row: n numbers in, n² out.
///
/// # Safety
/// See [`rival_states`].
#[unsafe(no_mangle)]
pub unsafe extern "C" fn rival_jacobian(r: *mut Rival, y: *const f64, out: *mut f64) {
    let r = unsafe { &mut *r };
    let y = read(y, r.net.states());
    r.net.rhs_and_jacobian(&y, &mut r.f, &mut r.jacobian, &mut r.work);
    write(plain(&r.jacobian), out);
}

/// Our own stepper over the whole run: seconds it takes, the median of five.
///
/// # Safety
/// See [`rival_states`].
#[unsafe(no_mangle)]
pub unsafe extern "C" fn rival_own(r: *mut Rival, full: bool) -> f64 {
    let r = unsafe { &*r };
    let (detail, effort) =
        if full { (Detail::FULL, Effort::WATCHED) } else { (Detail::COARSE, Effort::ENSEMBLE) };
    let mut times: Vec<f64> = (0..5)
        .map(|_| {
            let start = std::time::Instant::now();
            let car = r.run.ours(detail, effort, &[], |_, _| {});
            std::hint::black_box(&car);
            start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times[2]
}
