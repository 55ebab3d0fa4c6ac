//! The network's equations in the hands of an independent integrator.
//!
//! It gets the same right-hand side and the same exact Jacobian, and is started anew at every knot.
//! What differs: methods, step control (a mean over all states, where ours takes the worst), Newton
//! iterations, linear algebra.

use std::cell::RefCell;

use diffsol::matrix::MatrixRef;
use diffsol::matrix::sparsity::MatrixSparsity;
use diffsol::{
    ConstantOp, DefaultDenseMatrix, LinearSolver, Matrix, NonLinearOp, NonLinearOpJacobian, OdeBuilder,
    OdeEquations, OdeEquationsRef, OdeSolverMethod, OdeSolverStopReason, Op, UnitCallable, Vector, VectorRef,
};
use faultbay::lanes::Lanes;
use faultbay::plant::network::{Network, Workspace};

use crate::programme::{Run, lanes};

/// Which of its methods.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Backward differences of variable order.
    Bdf,
    /// Trapezoid and backward differences, order 2.
    TrBdf2,
    /// Diagonally implicit Runge–Kutta, order 3.
    Esdirk34,
}

/// What it did.
#[derive(Clone, Copy, Debug, Default)]
pub struct Effort {
    /// Steps kept.
    pub steps: usize,
    /// Steps thrown away, for their error or because Newton didn't converge.
    pub rejected: usize,
    /// Right-hand sides.
    pub evaluations: usize,
    /// Jacobians.
    pub jacobians: usize,
    /// Factorisations.
    pub factorisations: usize,
}

/// Fills the state at a time.
type Interpolant<'s, V> = dyn Fn(f64, &mut V) -> Result<(), String> + 's;

struct Scratch {
    work: Workspace<1>,
    y: Vec<Lanes<1>>,
    f: Vec<Lanes<1>>,
    jacobian: Vec<Lanes<1>>,
    evaluations: usize,
    jacobians: usize,
}

impl Scratch {
    fn take(&mut self, y: &[f64]) {
        for (to, &from) in self.y.iter_mut().zip(y) {
            *to = Lanes([from]);
        }
    }

    fn derive(&mut self, net: &Network<1>, y: &[f64]) {
        self.take(y);
        net.rhs_and_jacobian(&self.y, &mut self.f, &mut self.jacobian, &mut self.work);
    }
}

struct Equations<'n, M: Matrix> {
    net: Network<1>,
    y: Vec<f64>,
    scratch: &'n RefCell<Scratch>,
    context: M::C,
}

impl<M: Matrix<T = f64>> Op for Equations<'_, M> {
    type T = f64;
    type V = M::V;
    type M = M;
    type C = M::C;
    fn context(&self) -> &M::C {
        &self.context
    }
    fn nstates(&self) -> usize {
        self.y.len()
    }
    fn nout(&self) -> usize {
        self.y.len()
    }
    fn nparams(&self) -> usize {
        0
    }
}

impl<M: Matrix<T = f64>> NonLinearOp for Equations<'_, M> {
    fn call_inplace(&self, y: &M::V, _t: f64, f: &mut M::V) {
        let scratch = &mut *self.scratch.borrow_mut();
        scratch.evaluations += 1;
        f.for_each_batch_host([y], |f, [y], _| {
            scratch.take(y);
            self.net.rhs(&scratch.y, &mut scratch.f, &mut scratch.work);
            for (to, from) in f.iter_mut().zip(&scratch.f) {
                *to = from.0[0];
            }
        });
    }
}

impl<M: Matrix<T = f64>> NonLinearOpJacobian for Equations<'_, M> {
    fn jac_mul_inplace(&self, y: &M::V, _t: f64, v: &M::V, out: &mut M::V) {
        let scratch = &mut *self.scratch.borrow_mut();
        out.for_each_batch_host([y, v], |out, [y, v], _| {
            scratch.derive(&self.net, y);
            for (o, row) in out.iter_mut().zip(scratch.jacobian.chunks(v.len())) {
                *o = row.iter().zip(v).map(|(a, b)| a.0[0] * b).sum();
            }
        });
    }

    fn jacobian_inplace(&self, y: &M::V, _t: f64, out: &mut M) {
        let scratch = &mut *self.scratch.borrow_mut();
        scratch.jacobians += 1;
        let n = self.y.len();
        let mut column = M::V::zeros(n, self.context.clone());
        column.for_each_batch_host([y], |_, [y], _| scratch.derive(&self.net, y));
        for j in 0..n {
            column.for_each_batch_host([], |column, [], _| {
                for (i, c) in column.iter_mut().enumerate() {
                    *c = scratch.jacobian[i * n + j].0[0];
                }
            });
            out.set_column(j, &column);
        }
    }

    fn jacobian_sparsity(&self) -> Option<M::Sparsity> {
        if !M::is_sparse() {
            return None;
        }
        let n = self.y.len();
        let pattern = self.net.pattern();
        let entries = (0..n * n).map(|k| (k % n, k / n)).filter(|&(i, j)| i == j || pattern[i * n + j]).collect();
        Some(M::Sparsity::try_from_indices(n, n, entries).unwrap())
    }
}

impl<M: Matrix<T = f64>> ConstantOp for Equations<'_, M> {
    fn call_inplace(&self, _t: f64, y: &mut M::V) {
        y.for_each_batch_host([], |y, [], _| y.copy_from_slice(&self.y));
    }
}

impl<'a, M: Matrix<T = f64>> OdeEquationsRef<'a> for Equations<'_, M> {
    type Mass = UnitCallable<M>;
    type Rhs = &'a Self;
    type Root = UnitCallable<M>;
    type Init = &'a Self;
    type Out = UnitCallable<M>;
    type Reset = UnitCallable<M>;
}

impl<M: Matrix<T = f64>> OdeEquations for Equations<'_, M> {
    fn rhs(&self) -> &Self {
        self
    }
    fn mass(&self) -> Option<UnitCallable<M>> {
        None
    }
    fn init(&self) -> &Self {
        self
    }
    fn set_params(&mut self, _: &M::V) {}
    fn get_params(&self, _: &mut M::V) {}
}

/// Drives the run with another integrator; `look` gets time and state.
///
/// # Errors
/// When it gives up.
pub fn rival<M, L>(
    run: &Run,
    method: Method,
    relative: f64,
    absolute: f64,
    times: &[u64],
    mut look: impl FnMut(u64, &[f64]),
) -> Result<Effort, String>
where
    M: Matrix<T = f64, V: DefaultDenseMatrix>,
    L: LinearSolver<M>,
    for<'b> &'b M::V: VectorRef<M::V>,
    for<'b> &'b M: MatrixRef<M>,
{
    let net = &run.assembly.net;
    let n = net.states();
    let scratch = RefCell::new(Scratch {
        work: net.workspace(),
        y: lanes(&run.start()),
        f: vec![Lanes::ZERO; n],
        jacobian: vec![Lanes::ZERO; n * n],
        evaluations: 0,
        jacobians: 0,
    });
    // what the stepper doesn't weigh, this one doesn't either
    let top = &net.top;
    let tolerance: Vec<f64> = top
        .tolerance
        .iter()
        .zip(&top.weighed)
        .map(|(t, &weighed)| if weighed { t * absolute } else { 1e30 })
        .collect();
    let mut effort = Effort::default();
    let mut y = run.start();
    let mut seen = y.clone();
    let mut times = times.iter().copied().peekable();
    for segment in run.segments() {
        let mut net = net.clone();
        net.rates = segment.levers.iter().map(|&(_, _, rate)| Lanes([rate])).collect();
        for &(state, value, _) in &segment.levers {
            y[state] = value;
        }
        let span = (segment.to - segment.from) as f64 * 1e-6;
        let mut problem = OdeBuilder::<M>::new()
            .rtol(relative)
            .atol(tolerance.iter().copied())
            .h0(1e-4)
            .build_from_eqn(Equations::<M> { net, y: y.clone(), scratch: &scratch, context: M::C::default() })
            .map_err(|e| e.to_string())?;
        // by default it gives up when Newton has failed fifty times in a stretch, which happens in a long hold
        problem.ode_options.max_nonlinear_solver_failures = 1_000;
        let mut view = |solver: &Interpolant<'_, M::V>, reached: f64| -> Result<(), String> {
            let last = segment.to == run.end;
            while let Some(t) = times.next_if(|&t| {
                (t < segment.to || (last && t == segment.to)) && (t - segment.from) as f64 * 1e-6 <= reached
            }) {
                let mut state = M::V::zeros(n, M::C::default());
                solver((t - segment.from) as f64 * 1e-6, &mut state)?;
                state.for_each_batch_host([], |state, [], _| seen.copy_from_slice(state));
                look(t, &seen);
            }
            Ok(())
        };
        macro_rules! drive {
            ($solver:expr) => {{
                let mut solver = $solver.map_err(|e| e.to_string())?;
                solver.set_stop_time(span).map_err(|e| e.to_string())?;
                loop {
                    let reason = solver.step().map_err(|e| format!("{} s: {e}", segment.from as f64 * 1e-6))?;
                    let reached = solver.state().t;
                    let stopped = matches!(reason, OdeSolverStopReason::TstopReached);
                    view(
                        &|t, out| solver.interpolate_inplace(t, out).map_err(|e| e.to_string()),
                        if stopped { span } else { reached },
                    )?;
                    if stopped {
                        break;
                    }
                }
                y = solver.state().y.clone_as_vec();
                let s = solver.get_statistics();
                effort.steps += s.number_of_steps;
                effort.rejected += s.number_of_error_test_failures + s.number_of_nonlinear_solver_fails;
                effort.factorisations += s.number_of_linear_solver_setups;
            }};
        }
        match method {
            Method::Bdf => drive!(problem.bdf::<L>()),
            Method::TrBdf2 => drive!(problem.tr_bdf2::<L>()),
            Method::Esdirk34 => drive!(problem.esdirk34::<L>()),
        }
    }
    let scratch = scratch.into_inner();
    (effort.evaluations, effort.jacobians) = (scratch.evaluations, scratch.jacobians);
    Ok(effort)
}
