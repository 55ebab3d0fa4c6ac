//! Instruments and senses: what stands between the vehicle and a number or a word on paper.
//!
//! | file | what |
//! |---|---|
//! | `display`, `lag` | steps of a display, ends of a range; first-order lag |
//! | `transducer`, `hose` | pressure, and the hose that leads it to the sensor |
//! | `ripple` | pulsation of each kind of pump, laid over the simulated pressure |
//! | `clamp`, `motor_current`, `capture` | current, that of a pump's motor, and a fast record of it |
//! | `voltmeter`, `thermometer`, `jar`, `stick` | volts between two points, temperature, delivered volume, level |
//! | `vehicle_sensor`, `codes` | what the vehicle itself measures and stores |
//! | `sight`, `sounds` | what eyes and ears get, in words that two people would both write |
//!
//! None of them acts back on the vehicle. Noise is a function of seed, channel and sample number; errors
//! that an instrument has for good come from its seed.

pub mod capture;
pub mod clamp;
pub mod codes;
pub mod display;
pub mod hose;
pub mod jar;
pub mod lag;
pub mod motor_current;
pub mod ripple;
pub mod sight;
pub mod sounds;
pub mod stick;
pub mod thermometer;
pub mod transducer;
pub mod vehicle_sensor;
pub mod voltmeter;
