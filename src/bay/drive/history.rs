//! What happened to a vehicle before the job: where a pump keeps pressure, it ran a while ago and stands since.

use super::{Control, Drive};
use crate::bay::action::{Key, Micros, SECOND};
use crate::plant::Plant;
use crate::plant::component::Component;

/// How long the starter may take, and how long the engine idles afterwards.
const CRANKED_S: f64 = 8.0;
const IDLED: Micros = 40 * SECOND;

/// The vehicle keeps something of its last run: a pump pushes fuel forward and valves hold it there.
pub(super) fn ran_before(plant: &Plant) -> bool {
    plant.parts.iter().any(|p| matches!(p.is, Component::ElectricPump(_) | Component::DiaphragmPump(_)))
}

impl<const L: usize> Drive<L> {
    /// Key on, prime, start, idle, key off; then it stands for so long, and time begins anew at 0.
    pub(super) fn run_and_stand(&mut self, stood: Micros) -> Result<(), String> {
        self.keep_marks();
        self.turn_key(Key::On);
        self.advance_to(self.now + 3 * SECOND);
        for lane in 0..L {
            self.crank(lane, CRANKED_S);
        }
        self.advance_to(self.now + IDLED);
        self.turn_key(Key::Off);
        self.advance_to(self.now + 5 * SECOND + stood);
        self.begin_here()
    }

    fn begin_here(&mut self) -> Result<(), String> {
        self.cars.begin_here(self.now);
        self.now = 0;
        self.last_mark = 0;
        self.next_mark = None;
        for lane in &mut self.lanes {
            let fuel = lane.control.fuel();
            lane.control = Control::new(lane.hidden.plant())?;
            lane.control.keep_fuel(fuel);
            lane.electrics.begin_here();
            lane.memory.begin_here();
        }
        Ok(())
    }
}
