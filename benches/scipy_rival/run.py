"""Times SciPy's stiff integrators on the standard run, with our right-hand side and Jacobian compiled.

By hand: needs Python with numpy and scipy.

    cargo build --release --manifest-path benches/scipy_rival/Cargo.toml
    python3 benches/scipy_rival/run.py TARGET/release/libscipy_rival.so [a1|a4|a7 [most seconds a run]]

Both sides run one after the other in this process and are charged with the seconds of processor that they take, so that
other programs on the machine count little; set OPENBLAS_NUM_THREADS=1. Tolerances are those of a watched vehicle (relative 1e-5) for full
detail, and of an ensemble's (1e-3, absolute times 20) for coarse; the integrator is started anew at every knot.
"""

import ctypes
import platform
import sys
import time

import numpy as np
import scipy
from scipy.integrate import solve_ivp

MOST_SECONDS = float(sys.argv[3]) if len(sys.argv) > 3 else 60.0


class TooLong(Exception):
    pass


def main():
    lib = ctypes.CDLL(sys.argv[1])
    pointer = ctypes.POINTER(ctypes.c_double)
    lib.rival_new.restype = ctypes.c_void_p
    lib.rival_states.restype = lib.rival_segments.restype = ctypes.c_size_t
    lib.rival_own.restype = ctypes.c_double
    at = lambda a: a.ctypes.data_as(pointer)

    def ours(run, full):
        """Processor seconds of our stepper: the library's function runs it five times."""
        began = time.process_time()
        lib.rival_own(run, ctypes.c_bool(full))
        return (time.process_time() - began) / 5

    chosen = sys.argv[2] if len(sys.argv) > 2 else "a"
    print(f"Python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}")
    for which, name in enumerate(["a1-van", "a4-hatchback", "a7-truck"]):
        if not name.startswith(chosen):
            continue
        for full in (True, False):
            run = ctypes.c_void_p(lib.rival_new(ctypes.c_size_t(which), ctypes.c_bool(full)))
            n, segments = lib.rival_states(run), lib.rival_segments(run)
            start, tolerance, times = np.empty(n), np.empty(n), np.empty(2)
            lib.rival_start(run, at(start), at(tolerance))
            relative, absolute = (1e-5, 1.0) if full else (1e-3, 20.0)
            own = ours(run, full)
            print(f"{name}, {'full' if full else 'coarse'}, {n} states: ours {1e3 * own:.2f} ms (one vehicle)")
            for method in ("BDF", "Radau", "LSODA"):
                began, calls, f, jac = time.process_time(), [0, 0], np.empty(n), np.empty((n, n))

                def rhs(_, y):
                    calls[0] += 1
                    if time.process_time() - began > MOST_SECONDS:
                        raise TooLong
                    y = np.ascontiguousarray(y)
                    lib.rival_rhs(run, at(y), at(f))
                    return f.copy()

                def jacobian(_, y):
                    calls[1] += 1
                    y = np.ascontiguousarray(y)
                    lib.rival_jacobian(run, at(y), at(jac))
                    return jac.copy()

                y, steps, k = start.copy(), 0, 0
                try:
                    for k in range(segments):
                        lib.rival_segment(run, ctypes.c_size_t(k), at(y), at(times))
                        done = solve_ivp(rhs, (times[0], times[1]), y, method=method, jac=jacobian, rtol=relative,
                                         atol=tolerance * absolute, first_step=1e-4)
                        if not done.success:
                            raise RuntimeError(done.message)
                        y, steps = np.ascontiguousarray(done.y[:, -1]), steps + done.t.size - 1
                    took = time.process_time() - began
                    # ours once more, so that both sides met the same machine
                    own = (own + ours(run, full)) / 2
                    print(f"  {method}: {1e3 * took:.0f} ms, {steps} steps, {calls[0]} right-hand sides, "
                          f"{calls[1]} Jacobians: {took / own:.0f} times as long")
                except TooLong:
                    print(f"  {method}: given up after {MOST_SECONDS:.0f} s at {times[0]:.0f} s, stretch {k}: "
                          f"more than {MOST_SECONDS / own:.0f} times as long")
                except Exception as why:  # an integrator that fails is a result, too
                    print(f"  {method}: fails at {times[0]:.1f} s: {why}")


if __name__ == "__main__":
    main()
