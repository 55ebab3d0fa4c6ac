//! What flows carry: liquid, free and dissolved gas; release and holes.

use super::*;

/// Rounding of the corner of a hole that weeps, Pa.
const LEAK_ROUNDING_PA: f64 = 100.0;
/// Over so little fuel in a reservoir every pick-up goes over to air, mL.
const LAST_ML: f64 = 2.0;
/// Beyond so many of them the law below is 1 to the last bit.
const PLENTY: f64 = 20.0;
/// A vessel that lacks this share of its volume is empty; the step from fuel to vapour is so wide; and from this share on
/// it is looked at (there the step is within 10⁻⁷ of nothing).
const EMPTY: f64 = 1.3;
const NEARLY: f64 = 0.1;
const NOTICED: f64 = 0.5;
/// Saturation of fuel that comes back from where gas isn't followed.
const NEARLY_SATURATED: f64 = 0.98;

/// Rows that take what a flow carries: liquid, free gas, dissolved gas, each with its sign.
type Rows = [(usize, f64, Share); 3];

/// Share of fuel that a pick-up's mouth finds in a reservoir with so much fuel (mL), and its slope: tanh(V/2 mL). A mouth is
/// covered over some millimetres, and without this would still draw fuel from where there is none.
#[inline]
fn last_of<const L: usize>(fuel: Lanes<L>) -> (Lanes<L>, Lanes<L>) {
    if !fuel.any(|v| v < PLENTY * LAST_ML) {
        return (Lanes::ONE, Lanes::ZERO);
    }
    let share = (fuel.at_least(0.0) * (1.0 / LAST_ML)).tanh();
    let slope = (1.0 - share * share) * (1.0 / LAST_ML);
    (share, fuel.choose(|v| v > 0.0, slope, Lanes::ZERO))
}

impl<const L: usize> Network<L> {
    pub(super) fn donor<P: Slopes<L>>(&self, end: End, work: &Workspace<L>) -> Donor<L, P> {
        let top = &*self.top;
        let common = &top.common;
        match end {
            End::Cell(_, k) => self.cell_donor(k, work),
            End::Pickup(k) => self.pickup_donor(k, work),
            End::Bottom(r) | End::Top(r) => {
                let reservoir = &top.reservoirs[r];
                let space = top.air_space_of(reservoir);
                let now = &work.reservoirs[r];
                let per_pa = self.at(top.zones[reservoir.zone].solubility) * (1.0 / P0);
                let zero = Lanes::ZERO;
                Donor::clear(per_pa * now.y)
                    .with(space.v, [zero, zero, zero, per_pa * now.dy_dv])
                    .with(space.m, [zero, zero, zero, per_pa * now.dy_dm])
            }
            // nearly saturated at air pressure; part of that pressure is the fuel's own vapour
            End::Vessel(v) => {
                let zone = &top.zones[top.vessels[v].zone];
                let partial = (self.at(common.air) - self.at(zone.vapour)).at_least(0.0) * (1.0 / P0);
                let clear = Donor::clear(NEARLY_SATURATED * self.at(zone.solubility) * partial);
                match self.lasts(v, work) {
                    Some(Slope { value, slope }) => Donor { liquid: value, ..clear }
                        .with(top.vessels[v].x, [slope, Lanes::ZERO, Lanes::ZERO, Lanes::ZERO]),
                    None => clear,
                }
            }
            // fuel saturated at air pressure, no free gas
            End::Container(_) | End::Burned => {
                let zone = &top.zones[0];
                Donor::clear(self.at(zone.solubility) * (self.at(common.air) - self.at(zone.vapour)) * (1.0 / P0))
            }
        }
    }

    fn pickup_donor<P: Slopes<L>>(&self, k: usize, work: &Workspace<L>) -> Donor<L, P> {
        let top = &*self.top;
        let pickup = &top.pickups[k];
        let reservoir = &top.reservoirs[pickup.reservoir];
        let space = top.air_space_of(reservoir);
        let now = &work.reservoirs[pickup.reservoir];
        let width = self.at(pickup.width);
        let level = now.level + self.at(pickup.tilt);
        let mouth = smooth_step((level - self.at(pickup.height)) / width);
        let [height, share] = pickup.crack.map(|p| self.at(p));
        let crack = smooth_step((level - height) / width);
        let tight = 1.0 - share * (1.0 - crack.value);
        let covered =
            Slope { value: mouth.value * tight, slope: mouth.slope * tight + mouth.value * share * crack.slope };
        let (there, by_there) = last_of(now.level * self.at(reservoir.area));
        let by_v = covered.slope * there / (width * self.at(reservoir.area)) + covered.value * by_there;
        let covered = covered.value * there;
        let per_pa = self.at(top.zones[reservoir.zone].solubility) * (1.0 / P0);
        let (zero, by_air) = (Lanes::ZERO, now.dy_dv * (1.0 / P0));
        let donor = Donor {
            liquid: covered,
            gas: 1.0 - covered,
            density: now.y * (1.0 / P0),
            ..Donor::clear(per_pa * now.y)
        };
        let donor = donor.with(space.m, [zero, zero, now.dy_dm * (1.0 / P0), per_pa * now.dy_dm]);
        if reservoir.parent.is_none() {
            donor.with(reservoir.v, [by_v, -by_v, by_air, per_pa * now.dy_dv])
        } else {
            donor
                .with(reservoir.v, [by_v, -by_v, zero, zero])
                .with(space.v, [zero, zero, by_air, per_pa * now.dy_dv])
        }
    }

    pub(super) fn cell_donor<P: Slopes<L>>(&self, k: usize, work: &Workspace<L>) -> Donor<L, P> {
        let (cell, now) = (&self.top.cells[k], &work.cells[k]);
        let (zero, lasts) = (Lanes::ZERO, self.lasts(cell.vessel, work));
        let liquid = 1.0 - now.alpha;
        let share = lasts.map_or(Lanes::ONE, |lasts| lasts.value);
        let donor = Donor {
            liquid: liquid * share,
            gas: now.alpha,
            density: work.vessels[cell.vessel].y * (1.0 / P0),
            ..Donor::clear(now.c)
        }
        .with(self.column_a(k), [-share, Lanes::ONE, zero, now.dc_da])
        .with(self.column_p(cell.vessel), [zero, zero, Lanes::all(1.0 / P0), zero])
        .with(self.column_t(cell.vessel), [zero, zero, self.vapour_rise(cell.vessel) * (-1.0 / P0), zero])
        .with(cell.g + 1, [zero, zero, zero, now.dc_dd]);
        match lasts {
            Some(lasts) => donor.with(self.top.vessels[cell.vessel].x, [liquid * lasts.slope, zero, zero, zero]),
            None => donor,
        }
    }

    /// Share of the fuel flowing out of a vessel that is there to flow, with its slope against x; none where that is 1.
    ///
    /// Fuel that boils is pushed out as long as its vapour presses harder than what lies outside, and no longer than there
    /// is any: when vapour fills the vessel, vapour flows, of which nothing is kept. Without it a hot line would bring forth
    /// litres, since its pressure doesn't fall while it empties. Where air drives the fuel out, the cells' gas says so
    /// earlier.
    #[inline]
    fn lasts(&self, v: usize, work: &Workspace<L>) -> Option<Slope<L>> {
        let (lacks, volume) = (work.vessels[v].lacks, self.at(self.top.vessels[v].volume));
        if !(lacks - NOTICED * volume).any(|over| over > 0.0) {
            return None;
        }
        let out = lacks / volume;
        let lasts = smooth_step((EMPTY - out) * (1.0 / NEARLY));
        let per_x = 1.0 / (NEARLY * volume);
        Some(Slope { value: lasts.value, slope: lasts.slope * per_x })
    }

    fn link_donor<P: Slopes<L>>(&self, link: &Link, ahead: bool, work: &Workspace<L>) -> Donor<L, P> {
        match (ahead, &link.law) {
            (true, Law::Electric { .. }) => self.pump_donor(link.from, work),
            _ => self.donor(if ahead { link.from } else { link.to }, work),
        }
    }

    /// What an electric pump draws: nuclei and cavities fill its chambers, too, though only gas that
    /// moves is carried on.
    pub(super) fn pump_donor<P: Slopes<L>>(&self, end: End, work: &Workspace<L>) -> Donor<L, P> {
        let End::Cell(v, k) = end else { return self.donor(end, work) };
        let (vessel, cell, now) = (&self.top.vessels[v], &self.top.cells[k], &work.cells[k]);
        let (above, volume) = (work.vessels[v].y, self.at(cell.volume));
        let [seen, by_g, by_p] = gas_share(now.free + self.at(vessel.still_gas), volume, above);
        let zero = Lanes::ZERO;
        Donor { liquid: 1.0 - seen, gas: now.alpha, density: above * (1.0 / P0), ..Donor::clear(now.c) }
            .with(self.column_a(k), [zero, Lanes::ONE, zero, now.dc_da])
            .with(self.column_p(v), [-by_p, zero, Lanes::all(1.0 / P0), zero])
            .with(self.column_t(v), [by_p * self.vapour_rise(v), zero, self.vapour_rise(v) * (-1.0 / P0), zero])
            .with(cell.g, [-by_g, zero, zero, zero])
            .with(cell.g + 1, [zero, zero, zero, now.dc_dd])
    }

    /// Who takes what arrives at an end (or gives what leaves it).
    fn rows(&self, end: End) -> Rows {
        let top = &*self.top;
        let l = &top.ledgers;
        let in_reservoir = |r: usize| {
            let reservoir = &top.reservoirs[r];
            // free gas comes from or joins the air space; dissolved gas stays with the reservoir's fuel
            [
                (reservoir.v, 1.0, Share::Liquid),
                (top.air_space_of(reservoir).m, 1.0, Share::Free),
                (l.air_in, -1.0, Share::Dissolved),
            ]
        };
        let outside = |liquid: usize| {
            [(liquid, 1.0, Share::Liquid), (l.air_out, 1.0, Share::Free), (l.air_out, 1.0, Share::Dissolved)]
        };
        match end {
            End::Cell(v, k) => {
                let g = top.cells[k].g;
                [(top.vessels[v].x, 1.0, Share::Liquid), (g, 1.0, Share::Free), (g + 1, 1.0, Share::Dissolved)]
            }
            End::Vessel(v) => outside(top.vessels[v].x),
            End::Pickup(k) => in_reservoir(top.pickups[k].reservoir),
            End::Bottom(r) | End::Top(r) => in_reservoir(r),
            End::Container(_) => outside(l.container),
            End::Burned => outside(l.burned),
        }
    }

    /// Carries a link's flow from its donor to its receiver: liquid, free and dissolved gas.
    pub(super) fn pass<S: Sink<L>>(
        &self,
        link: &Link,
        i: usize,
        f: &mut [Lanes<L>],
        work: &Workspace<L>,
        sink: &mut S,
    ) {
        let flow = work.flows[i];
        let slopes = S::kept_of(&work.slopes, i);
        let mut rows = [(0, 0.0, Share::Liquid); 6];
        for (row, (state, sign, share)) in rows.iter_mut().zip(self.rows(link.from)) {
            *row = (state, -sign, share);
        }
        rows[3..].copy_from_slice(&self.rows(link.to));
        self.carry(flow, slopes, &rows, |ahead| self.link_donor(link, ahead, work), f, sink);
    }

    /// Moves what a flow carries between rows; the donor depends on the direction, lane by lane.
    fn carry<S: Sink<L>>(
        &self,
        q: Lanes<L>,
        parts: &[Partial<L>],
        rows: &[(usize, f64, Share)],
        donor: impl Fn(bool) -> Donor<L, S::Slopes>,
        f: &mut [Lanes<L>],
        sink: &mut S,
    ) {
        for ahead in [true, false] {
            if !(S::PATTERN || q.any(|q| (q >= 0.0) == ahead)) {
                continue;
            }
            let mask = q.choose(|q| (q >= 0.0) == ahead, Lanes::ONE, Lanes::ZERO);
            let donor = donor(ahead);
            let q = q * mask;
            let amounts = [Share::Liquid, Share::Free, Share::Dissolved].map(|share| donor.of(share) * q);
            for &(row, sign, share) in rows {
                f[row] += sign * amounts[share as usize];
                if S::WANTED {
                    donor.put((row, sign, share), q, parts, mask, sink);
                }
            }
        }
    }

    /// Carries gas from cell to cell inside vessels.
    pub(super) fn advect<S: Sink<L>>(&self, f: &mut [Lanes<L>], work: &mut Workspace<L>, sink: &mut S) {
        let mut parts = std::mem::take(&mut work.face);
        for face in &self.top.faces {
            let mut q = Lanes::ZERO;
            parts.clear();
            let mut take = |value: Lanes<L>, slopes: &[Partial<L>], weight: f64| {
                q += weight * value;
                if S::WANTED {
                    parts.extend(slopes.iter().map(|&(column, slope)| (column, weight * slope)));
                }
            };
            for &(i, weight) in &face.links {
                take(work.flows[i], S::kept_of(&work.slopes, i), weight);
            }
            for &(h, weight) in &face.holes {
                let (value, slope) = work.weeps[h];
                take(value, &[slope], weight);
            }
            let (left, right) = (self.top.cells[face.left].g, self.top.cells[face.right].g);
            let rows = [
                (left, -1.0, Share::Free),
                (left + 1, -1.0, Share::Dissolved),
                (right, 1.0, Share::Free),
                (right + 1, 1.0, Share::Dissolved),
            ];
            let donor = |ahead: bool| self.cell_donor(if ahead { face.left } else { face.right }, work);
            self.carry(q, &parts, &rows, donor, f, sink);
        }
        work.face = parts;
    }

    /// Fuel that weeps out of each hole above air pressure.
    pub(super) fn weeping<S: Sink<L>>(&self, work: &mut Workspace<L>) {
        for (i, hole) in self.top.holes.iter().enumerate() {
            let v = self.top.cells[hole.cell].vessel;
            let over = (work.vessels[v].p - self.at(self.top.common.air)).at_least(0.0);
            let area = self.at(hole.area);
            let column = self.column_p(v) as u32;
            work.weeps[i] = if S::PATTERN || (over * area).any(|v| v > 0.0) {
                let density = self.at(self.top.zones[self.top.vessels[v].zone].density);
                // mm²·√(2/ρ) gives mL/s/√Pa directly
                let out = orifice_flow(area * (2.0 / density).sqrt(), LEAK_ROUNDING_PA, over);
                (out.value, (column, over.choose(|v| v > 0.0, out.slope, Lanes::ZERO)))
            } else {
                (Lanes::ZERO, (column, Lanes::ZERO))
            };
        }
    }

    /// Release of dissolved air and its way back.
    pub(super) fn exchange_gas<S: Sink<L>>(
        &self,
        y: &[Lanes<L>],
        f: &mut [Lanes<L>],
        work: &Workspace<L>,
        sink: &mut S,
    ) {
        let common = &self.top.common;
        let (release, exchange) = (self.at(common.release), self.at(common.exchange));
        let nucleation = self.at(common.nucleation);
        for (k, cell) in self.top.cells.iter().enumerate() {
            let now = &work.cells[k];
            let above = work.vessels[cell.vessel].y;
            let solubility = self.at(self.top.zones[self.top.vessels[cell.vessel].zone].solubility);
            let volume = self.at(cell.volume);
            let (g, d) = (y[cell.g], y[cell.g + 1]);
            let per_pa = solubility * volume * (1.0 / P0);
            let liquid = 1.0 - now.alpha;
            let equilibrium = per_pa * liquid * above;
            let threshold = per_pa * liquid * (above + nucleation);
            let shed = positive_part(d - threshold, 1e-3 * solubility * volume);
            let half = 0.02 * volume;
            // bubbles grow where there are some and vanish where there are none. A step's error may owe a little gas; what is
            // owed is given back whatever the fuel holds, else too much dissolved air would make the debt grow
            let rest = 1.0 / (g.abs() + half);
            let owes = g.choose(|g| g < 0.0, Lanes::ONE, Lanes::ZERO);
            let beyond = exchange * (d - equilibrium);
            let flipped =
                owes.choose(|owes| owes > 0.0, beyond.choose(|b| b > 0.0, -Lanes::ONE, Lanes::ONE), Lanes::ONE);
            let contact = g * rest * flipped;
            let rate = release * shed.value + beyond * contact;
            f[cell.g] += rate;
            f[cell.g + 1] -= rate;
            if S::WANTED {
                let (hard, soft) = (release * shed.slope, exchange * contact);
                let dr_dd = hard + soft;
                let dr_dg = beyond * flipped * half * rest * rest;
                let dr_da = per_pa * (hard * (above + nucleation) + soft * above);
                let dr_dp = -per_pa * liquid * (hard + soft);
                for (row, sign) in [(cell.g, 1.0), (cell.g + 1, -1.0)] {
                    sink.add(row, cell.g + 1, sign * dr_dd);
                    sink.add(row, cell.g, sign * dr_dg);
                    sink.add(row, self.column_a(k), sign * dr_da);
                    sink.add(row, self.column_p(cell.vessel), sign * dr_dp);
                    sink.add(row, self.column_t(cell.vessel), -sign * dr_dp * self.vapour_rise(cell.vessel));
                }
            }
        }
    }

    /// Holes: air in below air pressure, fuel (with its gas) out above it.
    pub(super) fn leak<S: Sink<L>>(&self, f: &mut [Lanes<L>], work: &Workspace<L>, sink: &mut S) {
        let (common, l) = (&self.top.common, &self.top.ledgers);
        let (air, kelvin) = (self.at(common.air), self.at(common.air_temperature));
        for (i, hole) in self.top.holes.iter().enumerate() {
            let k = hole.cell;
            let v = self.top.cells[k].vessel;
            let g = self.top.cells[k].g;
            let area = self.at(hole.area);
            if S::PATTERN || area.any(|a| a > 0.0) {
                let column_p = self.column_p(v);
                let inflow = air_inflow(area, work.vessels[v].p, air, kelvin);
                for row in [g, l.air_in] {
                    f[row] += inflow.value;
                    if S::WANTED {
                        sink.add(row, column_p, inflow.slope);
                    }
                }
            }
            let (weep, slope) = work.weeps[i];
            if S::PATTERN || weep.any(|q| q > 0.0) {
                let donor = self.cell_donor::<S::Slopes>(k, work);
                for (row, sign, share) in [
                    (self.top.vessels[v].x, -1.0, Share::Liquid),
                    (l.lost, 1.0, Share::Liquid),
                    (g, -1.0, Share::Free),
                    (g + 1, -1.0, Share::Dissolved),
                    (l.air_in, -1.0, Share::Free),
                    (l.air_in, -1.0, Share::Dissolved),
                ] {
                    f[row] += sign * donor.of(share) * weep;
                    if S::WANTED {
                        donor.put((row, sign, share), weep, &[slope], Lanes::ONE, sink);
                    }
                }
            }
        }
    }
}
