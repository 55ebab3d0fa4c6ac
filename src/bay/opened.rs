//! The supply with its wall opened: pressure, gas and water along the whole line, moment by moment, beside those of
//! a sound vehicle that was put through the same hands.
//!
//! It is plain data. The only way to it is [`Closed::opened`](super::truth::Closed::opened) of a bay that was filmed
//! while an attempt was replayed in it (`attempt::open`); so it exists after hand-back only.
//!
//! Moments lie close after something was done and farther apart the longer nothing is: 0.2 s for 8 s, then 1 s, 5 s, 60 s. Between
//! two of them nothing is known; whoever draws shows the one before. The pressures are those in the vessels of the
//! model, without ripple, noise or the errors of an instrument.

use super::Bay;
use super::action::{MINUTE, Micros, SECOND};
use super::drive::op::Timed;
use super::drive::{Drive, Fidelity};
use crate::language::said;
use crate::plant::Plant;
use crate::plant::component::Component;
use crate::plant::ways::{Stop, ways};
use crate::scenario::model::Job;

/// Places in a vessel at which its gas is told, in the direction of flow.
pub const GRAINS: usize = 4;
/// Share of gas from which it is worth a word: what the eye sees in a glass.
const SEEN: f64 = 0.002;
/// Share of a vessel's gas that is vapour from which it counts as boiling; as in the sight glass.
const BOILING: f64 = 0.3;
/// Share of gas from outside from which it counts as let in; as in the sight glass.
const LET_IN: f64 = 0.3;
/// Share of water that clouds fuel; as in the sight glass.
const CLOUDED: f64 = 0.0005;
/// Most moments that are kept: a sitting of a day.
const MOST: usize = 40_000;

/// A place along the line: a node of the vehicle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Name of the node.
    pub node: String,
    /// Label of the joint, where a tee can sit.
    pub joint: Option<String>,
}

/// The part between a place and the next.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Between {
    /// Name of the part.
    pub part: String,
    /// What people call it.
    pub label: String,
    /// It adds pressure.
    pub pumps: bool,
}

/// What stood at a place at a moment.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spot {
    /// Pressure, mbar gauge.
    pub mbar: f64,
    /// Pressure below which the fuel there boils, mbar gauge.
    pub boils_mbar: f64,
    /// Share of the bore that gas takes, 0 … 1, from the upstream end to the downstream one.
    pub gas: [f64; GRAINS],
    /// Share of that gas that came in from outside, 0 … 1.
    pub outside: f64,
    /// Share of that gas that is vapour, 0 … 1.
    pub vapour: f64,
    /// Share of the liquid that is water, 0 … 1.
    pub water: f64,
}

/// What kind of gas stands at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gas {
    /// Vapour of the fuel: it boils.
    Vapour,
    /// Air that came in from outside.
    LetIn,
    /// Air that was dissolved in the fuel.
    CameOut,
}

impl Gas {
    /// What it is called.
    pub fn words(self) -> &'static str {
        match self {
            Self::Vapour => said("bay-gas-vapour"),
            Self::LetIn => said("bay-gas-let-in"),
            Self::CameOut => said("bay-gas-came-out"),
        }
    }
}

impl Spot {
    /// Mean share of gas, 0 … 1.
    pub fn mean_gas(&self) -> f64 {
        self.gas.iter().sum::<f64>() / GRAINS as f64
    }

    /// What gas there is to be seen.
    pub fn kind(&self) -> Option<Gas> {
        (self.mean_gas() >= SEEN).then_some(match self {
            s if s.vapour > BOILING => Gas::Vapour,
            s if s.outside > LET_IN => Gas::LetIn,
            _ => Gas::CameOut,
        })
    }

    /// Water clouds the fuel.
    pub fn is_clouded(&self) -> bool {
        self.water >= CLOUDED
    }
}

/// A test tee at a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TeeSpot {
    /// Place at which it really sits.
    pub place: usize,
    /// Its glass lies before its valve, seen from the tank (in a pressure line); else behind it.
    pub before: bool,
    /// How far its valve is open, 0 … 1.
    pub open: f64,
    /// What stands in its glass.
    pub spot: Spot,
}

/// Everything along the line at a moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Moment {
    /// When.
    pub at: Micros,
    /// One spot for each place.
    pub spots: Vec<Spot>,
    /// The tee, when it was fitted.
    pub tee: Option<TeeSpot>,
    /// Speed of the engine, 1/min.
    pub rpm: f64,
    /// Place at which a container fed the engine.
    pub fed_at: Option<usize>,
}

impl Moment {
    /// Pressure along the way: place and mbar gauge, two of them where the tee's valve parts the line.
    pub fn way(&self) -> Vec<(usize, f64)> {
        let mut way = Vec::with_capacity(self.spots.len() + 1);
        for (i, spot) in self.spots.iter().enumerate() {
            match self.tee.filter(|t| t.place == i) {
                Some(tee) if tee.before => way.extend([(i, tee.spot.mbar), (i, spot.mbar)]),
                Some(tee) => way.extend([(i, spot.mbar), (i, tee.spot.mbar)]),
                None => way.push((i, spot.mbar)),
            }
        }
        way
    }
}

/// The opened supply of one sitting.
#[derive(Clone, Debug, PartialEq)]
pub struct Opened {
    /// Places from the tank to the engine.
    pub places: Vec<Place>,
    /// What lies between them; one less than there are places.
    pub parts: Vec<Between>,
    /// The learner's vehicle, rising in time.
    pub moments: Vec<Moment>,
    /// A sound vehicle at the same moments.
    pub sound: Vec<Moment>,
}

impl Opened {
    /// The moment that holds at a time: the last one not after it.
    pub fn index(&self, at: Micros) -> usize {
        self.moments.partition_point(|m| m.at <= at).saturating_sub(1)
    }

    /// The vehicle and the sound one at a time.
    pub fn at(&self, at: Micros) -> Option<(&Moment, &Moment)> {
        let i = self.index(at);
        self.moments.get(i).zip(self.sound.get(i))
    }
}

/// The places along a plant's main way, and what lies between them.
pub fn along(plant: &Plant) -> (Vec<Place>, Vec<Between>) {
    let (mut places, mut parts): (Vec<Place>, Vec<Between>) = (vec![], vec![]);
    for stop in ways(plant).main {
        match stop {
            Stop::Node(node) => {
                let joint = plant.node(&node).and_then(|n| n.joint.clone());
                places.push(Place { node, joint });
            }
            Stop::Part(i) => {
                let part = &plant.parts[i];
                if part.is.ends().len() == 2 {
                    parts.push(Between {
                        part: part.name.clone(),
                        label: part.label.clone(),
                        pumps: matches!(
                            part.is,
                            Component::GearPump(_) | Component::DiaphragmPump(_) | Component::ElectricPump(_)
                        ),
                    });
                }
            }
        }
    }
    (places, parts)
}

/// What is kept of a bay while it is replayed.
pub(super) struct Film {
    places: Vec<Place>,
    parts: Vec<Between>,
    moments: Vec<Moment>,
    /// Or why there is none.
    sound: Result<Sound, String>,
    /// What was done up to each moment that the sound vehicle hasn't reached yet.
    ahead: Vec<(Vec<Timed>, Micros)>,
    /// How many ops lie before the last moment.
    done: usize,
}

impl Film {
    fn of(job: &Job, seed: u64) -> Self {
        let (places, parts) = along(&job.plant);
        let sound = Sound::new(job, seed, &places);
        Self { places, parts, moments: vec![], sound, ahead: vec![], done: 0 }
    }

    /// When the next moment is due.
    pub(super) fn due(&self, now: Micros, last_action: Micros) -> Option<Micros> {
        if self.moments.len() >= MOST {
            return None;
        }
        let last = self.moments.last().map_or(0, |m| m.at).max(last_action);
        let interval = match now.max(last) - last_action {
            i if i < 8 * SECOND => SECOND / 5,
            i if i < MINUTE => SECOND,
            i if i < 10 * MINUTE => 5 * SECOND,
            _ => MINUTE,
        };
        Some(((last / interval + 1) * interval).max(now))
    }

    fn take(&mut self, drive: &Drive<1>, ops: &[Timed]) {
        if self.moments.len() < MOST {
            let moment = moment(drive, &self.places);
            self.ahead.push((ops[self.done.min(ops.len())..].to_vec(), moment.at));
            self.moments.push(moment);
            self.done = ops.len();
        }
    }

    /// The vehicle's moments and the sound one's, as far as both have come.
    pub(super) fn develop(&self) -> Result<Opened, String> {
        let sound = self.sound.as_ref().map_err(String::clone)?.moments.clone();
        let moments = self.moments[..sound.len()].to_vec();
        Ok(Opened { places: self.places.clone(), parts: self.parts.clone(), moments, sound })
    }
}

/// A sound vehicle that goes through the learner's ops, and what it showed.
struct Sound {
    drive: Drive<1>,
    places: Vec<Place>,
    moments: Vec<Moment>,
}

impl Sound {
    fn new(job: &Job, seed: u64, places: &[Place]) -> Result<Self, String> {
        let drive = Drive::new(&job.plant, job.stood_s, [(seed, &[])], Fidelity::Watched, vec![])?;
        Ok(Self { drive, places: places.to_vec(), moments: vec![] })
    }

    /// Goes through what was done up to a moment, and shows it.
    fn go_on(&mut self, (ops, until): &(Vec<Timed>, Micros)) -> Result<(), String> {
        self.drive.go_through(ops)?;
        self.drive.advance_to(*until);
        self.moments.push(moment(&self.drive, &self.places));
        Ok(())
    }
}

/// As far as it can.
fn follow(sound: &mut Result<Sound, String>, ahead: &[(Vec<Timed>, Micros)]) {
    if let Ok(vehicle) = sound
        && let Err(why) = ahead.iter().try_for_each(|one| vehicle.go_on(one))
    {
        *sound = Err(why);
    }
}

fn moment(drive: &Drive<1>, places: &[Place]) -> Moment {
    let standing = drive.standing(0);
    let place_of = |joint: &str| places.iter().position(|p| p.node == joint);
    let tee = drive.tee_really_at(0).as_deref().and_then(place_of).zip(standing.in_glass()).map(|(place, spot)| {
        TeeSpot { place, before: drive.tee_glass_is_before(0), open: drive.valve(0).unwrap_or(1.0), spot }
    });
    Moment {
        at: drive.now(),
        spots: places.iter().map(|p| standing.at(&p.node)).collect(),
        tee,
        rpm: drive.rpm(0),
        fed_at: drive.container().and_then(place_of),
    }
}

impl Bay {
    /// A fresh vehicle that is filmed: for whoever replays an attempt to open it.
    ///
    /// # Errors
    /// As [`Bay::new`].
    pub(crate) fn filmed(job: &Job, seed: u64) -> Result<Self, String> {
        let mut bay = Self::new(job, seed)?;
        bay.film = Some(Box::new(Film::of(job, seed)));
        bay.take_moment();
        Ok(bay)
    }

    /// Does work in the bay. Where it is filmed the sound vehicle catches up meanwhile, on another core where the feature
    /// `parallel` is on; what it shows is the same either way.
    pub(crate) fn while_sound_follows<T>(&mut self, work: impl FnOnce(&mut Self) -> T) -> T {
        #[cfg(feature = "parallel")]
        if let Some(film) = &mut self.film
            && !film.ahead.is_empty()
        {
            let ahead = std::mem::take(&mut film.ahead);
            let mut sound = std::mem::replace(&mut film.sound, Err(String::new()));
            let done = rayon::in_place_scope(|scope| {
                scope.spawn(|_| follow(&mut sound, &ahead));
                work(self)
            });
            if let Some(film) = &mut self.film {
                film.sound = sound;
            }
            return done;
        }
        work(self)
    }

    /// Lets the sound vehicle go through all that is left. `going` is told the share that is done and says whether to go
    /// on; `false` when it doesn't want to.
    pub(crate) fn sound_catches_up(&mut self, going: &mut dyn FnMut(f64) -> bool) -> bool {
        let Some(film) = &mut self.film else { return true };
        let ahead = std::mem::take(&mut film.ahead);
        ahead.iter().enumerate().all(|(i, one)| {
            let goes = going(i as f64 / ahead.len() as f64);
            if goes {
                follow(&mut film.sound, std::slice::from_ref(one));
            }
            goes
        })
    }

    /// Keeps this moment, when the bay is filmed.
    pub(super) fn take_moment(&mut self) {
        if let Some(film) = &mut self.film {
            film.take(&self.drive, &self.ops);
        }
    }
}
