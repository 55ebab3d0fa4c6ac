//! What hands hold open, shut, warm or connected at a vehicle for a test: hoses pinched, joints plugged, a jar under a
//! joint, a second transducer, a slope.
//!
//! A pinched hose or a plugged part isn't tight to the last drop: it lets through less than a hundred thousandth of
//! what it did, which no reading shows.

use super::Drive;
use crate::bay::action::Micros;
use crate::bay::observation::SampleLook;
use crate::plant::Plant;
use crate::plant::component::{Component, Tank};
use crate::units::PA_PER_MBAR;

/// Effective opening of a hose into the jar, m².
const FREE_M2: f64 = 12e-6;
/// Effective opening of the throttle before the jar: at 4 bar it passes 0.9 l of petrol in 30 s, m².
const THROTTLE_M2: f64 = 0.92e-6;
/// What a part's resistance is multiplied by when it is plugged.
const PLUGGED: f64 = 1e10;
/// Liquid from which a place looks damp, and drips, mL/s.
pub(in crate::bay) const DAMP: f64 = 3e-4;
pub(in crate::bay) const DRIPS: f64 = 0.02;
/// Water in the tank that makes a layer in the jar, mL.
const LAYER_ML: f64 = 5.0;
/// Difference of density at 20 °C by which a nose knows that the fuel isn't this vehicle's, kg/m³.
const SMELLS_WRONG: f64 = 25.0;

/// A joint open into the measuring jar.
#[derive(Clone, Debug)]
pub(super) struct Jar {
    pub(super) joint: String,
    pub(super) area_m2: f64,
}

/// Shuts a part that has two ends; others are left alone.
pub(super) fn close(component: &mut Component) {
    match component {
        Component::Line(line) => line.pinched = true,
        Component::Strainer(s) => s.clean = s.clean.times(PLUGGED),
        Component::Restriction(r) => r.drop = r.drop.times(PLUGGED),
        Component::SedimentBowl(b) => b.clean = b.clean.times(PLUGGED),
        Component::HandPrimer(p) => p.open = p.open.times(PLUGGED),
        Component::Filter(f) => f.new = f.new.times(PLUGGED),
        Component::NonReturnValve(v) => {
            v.open = v.open.times(PLUGGED);
            v.seat_leak = 0.0;
        }
        Component::ShutOffValve(v) => {
            v.reach = 0.0;
            v.leak = 0.0;
        }
        _ => {}
    }
}

/// A part that [`close`] shuts.
fn can_be_shut(component: &Component) -> bool {
    matches!(
        component,
        Component::Line(_)
            | Component::Strainer(_)
            | Component::Restriction(_)
            | Component::SedimentBowl(_)
            | Component::HandPrimer(_)
            | Component::Filter(_)
            | Component::NonReturnValve(_)
            | Component::ShutOffValve(_)
    )
}

/// Coefficient of the tee's valve when open, mL/s/√Pa, and of its curve K(θ) = K·(30^θ − 1)/29.
const VALVE_K: f64 = 2.0;
/// Flow at which the kit's long hose and an orifice have the same drop, mL/s.
const COMPARED_AT: f64 = 27.8;

/// The opening at which the tee's valve alone drops what it drops together with a hose of a resistance, Pa·s/mL.
pub(super) fn reach_behind(reach: f64, hose: f64) -> f64 {
    if hose <= 0.0 {
        return reach;
    }
    let valve = VALVE_K * (crate::ops::powf(30.0, reach) - 1.0) / 29.0;
    let both = 1.0 / (1.0 / (valve * valve).max(1e-12) + hose / COMPARED_AT).sqrt();
    crate::ops::ln(1.0 + 29.0 * both / VALVE_K) / crate::ops::ln(30.0)
}

/// The part that a plug at a joint shuts: what leads on from it, else what leads up to it.
pub(in crate::bay) fn plugged_part(plant: &Plant, joint: &str) -> Option<String> {
    let ends_at = |end: usize| {
        plant
            .parts
            .iter()
            .find(|p| can_be_shut(&p.is) && p.is.ends().get(end) == Some(&joint))
            .map(|p| p.name.clone())
    };
    ends_at(0).or_else(|| ends_at(1))
}

impl<const L: usize> Drive<L> {
    /// Names of the parts that hands hold shut.
    pub(super) fn shut_parts(&self) -> Vec<String> {
        let plugged = self.blanked.as_deref().and_then(|j| plugged_part(self.lanes[0].hidden.plant(), j));
        self.pinched.iter().cloned().chain(plugged).collect()
    }

    pub(super) fn pinch(&mut self, part: &str, on: bool) -> Result<(), String> {
        if on {
            self.pinched.insert(part.to_owned());
        } else {
            self.pinched.remove(part);
        }
        self.rebuild(None)
    }

    /// The joint stands open while the plug goes in or out.
    pub(super) fn blank(&mut self, joint: Option<&str>) -> Result<(), String> {
        let before = std::mem::replace(&mut self.blanked, joint.map(str::to_owned));
        self.make_tight(joint.or(before.as_deref()))
    }

    pub(super) fn fit_second(&mut self, joint: Option<&str>) -> Result<(), String> {
        let before = std::mem::replace(&mut self.second, joint.map(str::to_owned));
        let pushed = joint.is_some_and(|joint| self.proper.is_under_pressure(joint));
        let noisy = self.fidelity == super::Fidelity::Watched;
        for lane in &mut self.lanes {
            lane.second_gauge = joint.map(|_| super::probe::second_transducer(lane.seed, pushed, noisy));
        }
        self.make_tight(joint.or(before.as_deref()))
    }

    pub(super) fn open_into_jar(&mut self, joint: Option<&str>, throttled: bool) -> Result<(), String> {
        let before = self.jar.take();
        self.jar_since(joint.is_some());
        match joint {
            Some(joint) => {
                let area_m2 = if throttled { THROTTLE_M2 } else { FREE_M2 };
                self.jar = Some(Jar { joint: joint.to_owned(), area_m2 });
                self.rebuild(None)?;
                for lane in 0..L {
                    self.lanes[lane].jar_ml = -self.lost(lane);
                }
            }
            None => {
                for lane in 0..L {
                    self.lanes[lane].jar_ml += self.lost(lane);
                }
                self.make_tight(before.as_ref().map(|jar| jar.joint.as_str()))?;
            }
        }
        Ok(())
    }

    /// Leads the return into the jar; what came by then stays in it.
    pub(super) fn lead_return(&mut self, on: bool) {
        self.return_in_jar = on;
        self.jar_since(on);
        if on {
            for lane in &mut self.lanes {
                lane.jar_ml = 0.0;
            }
            self.keep_marks();
        }
    }

    /// What came back since the last mark.
    pub(super) fn fill_return_jar(&mut self, lane: usize, since: Micros) {
        if self.return_in_jar {
            let seconds = (self.now - since) as f64 * 1e-6;
            self.lanes[lane].jar_ml += seconds * self.flow_through(lane, &["back-leak", "overflow"]).max(0.0);
        }
    }

    /// The watch starts, or stops and keeps what it shows.
    fn jar_since(&mut self, starts: bool) {
        if starts {
            self.jar_began = Some(self.now);
        } else if let Some(began) = self.jar_began.take() {
            self.jar_took = self.now - began;
        }
    }

    /// For how long fuel has run into the jar, or did last, s.
    pub(super) fn jar_for_s(&self) -> f64 {
        self.jar_began.map_or(self.jar_took, |began| self.now - began) as f64 * 1e-6
    }

    /// What was seen to be wrong with valve, hose and container is put right. A tee on the wrong side wants fitting anew.
    pub(super) fn put_kit_right(&mut self, tee: bool) -> Result<(), String> {
        for lane in &mut self.lanes {
            lane.hidden.cure_kit(if tee { &["M4", "M8"] } else { &["M8"] });
        }
        self.rebuild(None)
    }

    /// Fuel in the jar, mL.
    pub(super) fn in_jar(&self, lane: usize) -> f64 {
        self.lanes[lane].jar_ml + if self.jar.is_some() { self.lost(lane) } else { 0.0 }
    }

    /// One stroke of a hand pump at the tee.
    pub(super) fn hand_pump(&mut self, mbar: f64) {
        if let Some(tee) = self.tee_vessel() {
            self.bring_to(tee, mbar * PA_PER_MBAR);
        }
    }

    /// Vessel of a node, or the one in which a part ends.
    pub(super) fn vessel_of(&self, place: &str) -> Option<usize> {
        let top = &self.net().top;
        top.vessel(place).or_else(|| {
            let part = self.lanes[0].hidden.plant().part(place)?;
            part.is.ends().iter().rev().find_map(|end| top.vessel(end))
        })
    }

    pub(super) fn treat(&mut self, place: &str, kelvin: f64) {
        if let Some(v) = self.vessel_of(place) {
            self.shift_temperature(v, kelvin);
        }
        self.look_at_modifiers();
    }

    pub(super) fn wiggle(&mut self, place: &str, on: bool) {
        self.wiggled = on.then(|| place.to_owned());
        self.look_at_modifiers();
    }

    pub(super) fn tilt(&mut self, degrees: f64) {
        self.slope = degrees;
        let radians = degrees.to_radians();
        let tan = crate::ops::sin(radians) / crate::ops::cos(radians);
        let plant = self.lanes[0].hidden.plant();
        let rises: Vec<f64> = self
            .net()
            .top
            .pickups
            .iter()
            .map(|p| {
                let name = &self.net().top.reservoirs[p.reservoir].name;
                match plant.part(name).map(|part| &part.is) {
                    // nose up: fuel runs to the rear
                    Some(Component::Tank(Tank { off_middle, .. })) => off_middle.si() * tan,
                    _ => 0.0,
                }
            })
            .collect();
        self.set_slope(&rises);
        self.look_at_modifiers();
    }

    pub(super) fn draw_sample(&mut self, lane: usize) {
        let look = self.sample_now(lane);
        self.lanes[lane].sample = Some(look);
    }

    /// What a sample from the bottom of the tank looks and smells like. Dirt isn't modelled.
    pub(in crate::bay) fn sample_now(&self, lane: usize) -> SampleLook {
        let plant = self.lanes[lane].hidden.plant();
        let first = plant.parts.iter().find(|p| matches!(p.is, Component::Tank(_)));
        if first.is_some_and(|tank| plant.water_in(&tank.name) > LAYER_ML) {
            return SampleLook::Water;
        }
        let at_20 = |plant: &Plant| plant.fuel.at(crate::units::Temperature::from_celsius(20.0));
        let (fuel, proper) = (at_20(plant), at_20(&self.proper));
        let thinner = fuel.vapour_pressure > 3.0 * proper.vapour_pressure.max(1000.0);
        if (fuel.density - proper.density).abs() > SMELLS_WRONG || thinner {
            return SampleLook::Wrong;
        }
        let kelvin = self.net().top.zones.first().map_or(293.15, |z| self.state(lane, z.t));
        let t = crate::units::Temperature::from_celsius(kelvin - crate::units::ZERO_CELSIUS_K);
        if plant.fuel.wax_factor(t) > 1.0 { SampleLook::Hazy } else { SampleLook::Clear }
    }

    /// The wettest that every place has been, mL/s of liquid.
    pub(super) fn watch_wet(&mut self, lane: usize) {
        for (place, flow) in self.oozing(lane) {
            let most = self.lanes[lane].wet.entry(place).or_insert(0.0);
            *most = most.max(flow);
        }
    }
}
