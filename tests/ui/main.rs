//! The window clicked through without a window: widgets are found by what they are called, pressed,
//! typed into, and the actions that reach the bay are looked at.

mod bench;
mod class;
mod clicks;
mod coach;
mod debrief;
mod dragging;
mod editor;
mod fits;
mod keyboard;
mod names;
mod rarer;
mod shelf;
mod touch;
mod views;
