//! Instruments: what stands between the pressure in the line and the number on the display.

pub mod ripple;
pub mod transducer;
