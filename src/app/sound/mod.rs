//! What the vehicle sounds like: the samples, and with the feature `sound` the loudspeaker. Captions say the same
//! ([`super::captions`]), so nobody needs ears, and nobody a loudspeaker.

#[cfg(feature = "sound")]
pub mod speaker;
pub mod synth;

/// Whether this build can be heard: then the settings show volume and mute.
pub const IS_HEARD: bool = cfg!(feature = "sound");
