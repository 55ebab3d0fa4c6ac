//! The files of `scenarios/`, built into the program.

use super::Kind;

/// A file by kind, folder and name.
macro_rules! files {
    ($($kind:ident $folder:literal: $($name:literal),+;)*) => {
        &[$($((
            Kind::$kind,
            $name,
            concat!("scenarios/", $folder, "/", $name, ".ron"),
            include_str!(concat!("../../scenarios/", $folder, "/", $name, ".ron")),
        )),+),*]
    };
}

/// Kind, name, file and text.
pub(super) static FILES: &[(Kind, &str, &str, &str)] = files! {
    Plant "plants": "a1-van", "a2-estate", "a3-minibus", "a4-hatchback", "a5-coupe", "a6-saloon", "a7-truck",
        "a8-genset", "a9-boat", "a10-tractor", "a10-petrol";
    Rubric "rubrics": "standard";
    Course "courses": "first-steps", "hard-cases", "in-condition";
    Job "jobs": "after-the-service", "bubbles-everywhere", "bypass-puff", "dead-at-the-gate", "dies-in-the-cold", "fades-and-lifts", "fine-till-tested", "limp-when-hot", "monthly-test", "nothing-wrong", "primer-air", "rail-pressure-low", "second-pump", "spring-heatwave", "stops-when-she-heels", "ten-strokes", "the-silent-key", "three-garages";
};
