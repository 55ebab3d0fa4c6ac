//! What an instructor's hands do at the tank when a fault that lies in it comes or goes in the middle of a sitting: fuel let
//! out or poured in, water poured in or drained.
//!
//! Fuel and water come from outside and go there; no vehicle could do it by itself. So that nothing is passed over in
//! silence, the fuel stands in the ledger of the can and the air that takes its place in that of the vents: the balances
//! that hold all through a sitting hold across this moment, too. Another fuel is in the whole supply at once, tank, lines
//! and filter, as after a flush: the model has one fuel for a vehicle, so none of the old comes through first.

use super::Drive;
use super::hands::BRIM;
use crate::plant::Plant;
use crate::plant::component::{Component, Tank};

const ML: f64 = 1e6;

/// The tanks of a vehicle by name.
fn tanks(plant: &Plant) -> impl Iterator<Item = (&str, &Tank)> {
    plant
        .parts
        .iter()
        .filter_map(|p| if let Component::Tank(tank) = &p.is { Some((p.name.as_str(), tank)) } else { None })
}

impl<const L: usize> Drive<L> {
    /// The vehicles as they are described now.
    pub(super) fn described(&self) -> [Plant; L] {
        core::array::from_fn(|lane| self.lanes[lane].hidden.plant().clone())
    }

    /// Brings the tanks from how the vehicles were described to how they are now. Where the description has less fuel, it is
    /// let out as far as there is more; where it has more, it is poured in as far as there is less.
    pub(super) fn tend_tanks(&mut self, before: &[Plant; L]) {
        for (lane, was) in before.iter().enumerate() {
            let now = self.lanes[lane].hidden.plant().clone();
            for (name, tank) in tanks(&now) {
                if let Some((_, old)) = tanks(was).find(|(n, _)| *n == name) {
                    self.tend_tank(lane, name, old, tank);
                }
            }
        }
    }

    fn tend_tank(&mut self, lane: usize, name: &str, old: &Tank, new: &Tank) {
        let Some(had) = self.in_tank(lane, name) else { return };
        let (was, is) = (ML * old.water.si(), ML * new.water.si());
        let mut fuel = had;
        if is > was {
            let room = (BRIM * ML * new.capacity.si() - had).max(0.0);
            let poured = (is - was).min(room);
            self.pour_water(lane, name, poured);
            fuel += poured;
        } else if is < was {
            fuel -= self.drain_water(lane, name, is, was - is);
        }
        let level = ML * new.fill.si();
        if new.fill < old.fill {
            fuel = fuel.min(level);
        } else if new.fill > old.fill {
            fuel = fuel.max(level);
        }
        if fuel != had {
            self.bring_tank_to(lane, name, fuel);
        }
    }
}
