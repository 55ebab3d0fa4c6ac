//! The loudspeaker: hands the voices of the moment to the thread of the sound device.

use crate::language::said;
use crate::tell;
use std::sync::{Arc, Mutex};

use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};

use super::synth::{Sounding, Voices};

/// An open sound device.
pub struct Speaker {
    voices: Arc<Mutex<Voices>>,
    // it sounds as long as this is kept
    _stream: cpal::Stream,
}

impl Speaker {
    /// Opens the device that the system names first.
    ///
    /// # Errors
    /// A sentence: there is none, or it can't be used.
    pub fn open() -> Result<Self, String> {
        let device = cpal::default_host().default_output_device().ok_or(said("speaker-none"))?;
        let config = device.default_output_config().map_err(|e| tell!("speaker-not-usable", e = e.to_string()))?;
        if config.sample_format() != cpal::SampleFormat::F32 {
            return Err(said("speaker-no-samples").to_owned());
        }
        let config = config.config();
        let voices = Arc::new(Mutex::new(Voices::default()));
        let stream = stream(&device, config, voices.clone())?;
        stream.play().map_err(|e| tell!("speaker-not-begun", e = e.to_string()))?;
        Ok(Self { voices, _stream: stream })
    }

    /// From now on this is to be heard.
    pub fn play(&self, voices: Voices) {
        if let Ok(mut now) = self.voices.lock() {
            *now = voices;
        }
    }
}

fn stream(
    device: &cpal::Device,
    config: cpal::StreamConfig,
    voices: Arc<Mutex<Voices>>,
) -> Result<cpal::Stream, String> {
    let (rate, channels) = (f64::from(config.sample_rate), usize::from(config.channels));
    let (mut sounding, mut last, mut mono) = (Sounding::silence(), Voices::default(), vec![]);
    let fill = move |out: &mut [f32], _: &cpal::OutputCallbackInfo| {
        // the thread of the device never waits: then the voices of before go on
        if let Ok(now) = voices.try_lock() {
            last = *now;
        }
        mono.resize(out.len() / channels.max(1), 0.0);
        sounding = sounding.go_on(&last, rate, &mut mono);
        for (frame, sample) in out.chunks_mut(channels.max(1)).zip(&mono) {
            frame.fill(*sample);
        }
    };
    device
        .build_output_stream(config, fill, |_| (), None)
        .map_err(|e| tell!("speaker-not-opened", e = e.to_string()))
}
