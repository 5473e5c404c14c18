//! Which stable states there are: the one that is reached, and every other.

use super::device::Device;
use super::motion::{Motion, Point, Rest};

/// More than this many devices that may have two states are not enumerated.
const BISTABLE_MAX: usize = 10;
/// Two states whose sizes differ by less than this share are one.
const SAME_STATE: f64 = 1e-6;
/// Coupling below which v(x) cannot fold: |∂ ln h / ∂ ln x| <= 2 ρ / (1 - ρ)² < 1 for ρ < 0.2.
const COUPLING_SAFE: f64 = 0.2;

impl Motion {
    /// The state reached from `start`: lamps are lit one at a time, the one farthest above its
    /// strike voltage first, and those below their hold voltage put out, until all agree. A lamp
    /// that went out and strikes again flickers: no steady state has it, and it is taken as lit
    /// all the time.
    pub(super) fn reach(&self, start: Rest) -> Result<Rest, usize> {
        let mut went_out = vec![false; self.devices.len()];
        let (mut rest, mut point) = self.settle_stable(start)?;
        // Each lamp is lit, put out and lit again at most.
        for _ in 0..4 * self.devices.len() + 4 {
            if let Some(lamp) = self.next_strike(&rest, &point) {
                self.light(lamp, &mut rest, &point);
                rest.flickering[lamp] = went_out[lamp];
            } else {
                let out: Vec<usize> = self.going_out(&rest, &point).collect();
                if out.is_empty() {
                    return Ok(rest);
                }
                for lamp in out {
                    (rest.lit[lamp], rest.size[lamp]) = (false, self.devices[lamp].least);
                    went_out[lamp] = true;
                }
            }
            (rest, point) = self.settle_stable(rest)?;
        }
        Err(point.farthest)
    }

    fn next_strike(&self, rest: &Rest, point: &Point) -> Option<usize> {
        let dark = self.devices.iter().enumerate().filter(|&(j, _)| !rest.lit[j]);
        let above = dark.filter_map(|(j, lamp)| Some((j, lamp.strikes(point.voltage[j].norm())?)));
        above.max_by(|(_, a), (_, b)| a.total_cmp(b)).map(|(j, _)| j)
    }

    fn going_out<'a>(
        &'a self,
        rest: &'a Rest,
        point: &'a Point,
    ) -> impl Iterator<Item = usize> + 'a {
        let lit = self.devices.iter().enumerate().filter(|&(j, _)| rest.lit[j]);
        lit.filter(|&(j, lamp)| !rest.flickering[j] && lamp.goes_out(point.voltage[j].norm()))
            .map(|(j, _)| j)
    }

    /// Lights a lamp, with what it will about conduct where the others stay as they are.
    fn light(&self, lamp: usize, rest: &mut Rest, point: &Point) {
        rest.lit[lamp] = true;
        rest.size[lamp] = self.asked(lamp, rest, point);
    }

    /// Every other stable state, each device that may have two being started from both ends of
    /// its range in every combination, lamps lit or dark; `None` where these are too many.
    pub(super) fn others(&self, reached: &Rest) -> Option<Vec<Rest>> {
        let suspects = self.suspects(reached);
        if suspects.len() > BISTABLE_MAX {
            return None;
        }
        let mut found: Vec<Rest> = Vec::new();
        if suspects.is_empty() {
            return Some(found);
        }
        let untouched = self.at(&Rest::start(&self.devices))?;
        for combination in 0..1_u32 << suspects.len() {
            let mut start = Rest::start(&self.devices);
            for (bit, &j) in suspects.iter().enumerate() {
                if combination >> bit & 1 == 0 {
                    continue;
                }
                if self.devices[j].has_memory() {
                    self.light(j, &mut start, &untouched);
                } else {
                    start.size[j] = self.devices[j].far_start();
                }
            }
            let Some(rest) = self.state_from(start) else { continue };
            if ![reached].into_iter().chain(&found).any(|other| is_same(other, &rest)) {
                found.push(rest);
            }
        }
        Some(found)
    }

    /// The stable state that a start leads to; where nothing but lamps moves, only if it is one
    /// with just those lit: which are lit determines the rest, and others have a start of their
    /// own.
    fn state_from(&self, start: Rest) -> Option<Rest> {
        if !self.devices.iter().all(Device::is_lamp) {
            return self.reach(start).ok();
        }
        let (rest, point) = self.settle_stable(start).ok()?;
        let holds = self.next_strike(&rest, &point).is_none()
            && self.going_out(&rest, &point).next().is_none();
        holds.then_some(rest)
    }

    /// Devices that may have a second state. Not those whose port is so stiff that no choice of
    /// sizes changes their regime: with ρ = max over ports of Σ |Z| (range of x),
    /// |v - v_reached| <= |v|_max Σ |Z| (range of x) / (1 - ρ).
    fn suspects(&self, reached: &Rest) -> Vec<usize> {
        let Some(point) = self.at(reached) else { return Vec::new() };
        let range = |(device, &x): (&Device, &f64)| (device.most - x).max(x - device.least);
        let range: Vec<f64> = self.devices.iter().zip(&reached.size).map(range).collect();
        let coupling = |j: usize| -> f64 {
            let z = self.ports.impedance.row(j);
            z.iter().zip(&range).map(|(z, range)| z.norm() * range).sum()
        };
        let worst = (0..self.devices.len()).map(coupling).fold(0.0, f64::max);
        let voltage_max = point.voltage.iter().map(|v| v.norm()).fold(0.0, f64::max);
        let may_change = |j: usize, device: &Device| {
            let margin = coupling(j) / (1.0 - worst) * voltage_max;
            worst >= COUPLING_SAFE || !device.keeps_regime(point.voltage[j].norm(), margin)
        };
        let bistable = self.devices.iter().enumerate().filter(|(_, device)| device.is_bistable());
        bistable.filter(|&(j, device)| may_change(j, device)).map(|(j, _)| j).collect()
    }
}

fn is_same(a: &Rest, b: &Rest) -> bool {
    let close = |(x, y): (&f64, &f64)| (x - y).abs() <= SAME_STATE * x.max(*y);
    a.lit == b.lit && a.flickering == b.flickering && a.size.iter().zip(b.size.iter()).all(close)
}

#[cfg(test)]
mod tests {
    use nalgebra::{Complex, DMatrix, DVector};

    use super::*;
    use crate::netlist::{ElementId, Law, Netlist};
    use crate::solution::ports::Ports;

    fn lamp() -> Law {
        Law::StrikeLamp {
            strike_volt: 80.0,
            hold_volt: 50.0,
            maintain_volt: 45.0,
            off_ohm: 1e9,
            series_ohm: 100e3,
        }
    }

    /// Devices each on a port of its own, of such a voltage and so many ohms.
    fn apart(each: &[(Law, f64, f64)]) -> Motion {
        let device = |law| Device::new(ElementId(0), (Netlist::EARTH, Netlist::EARTH), law);
        let n = each.len();
        let ports = Ports {
            open: DVector::from_fn(n, |j, _| Complex::from(each[j].1)),
            impedance: DMatrix::from_fn(n, n, |i, j| {
                Complex::from(if i == j { each[j].2 } else { 0.0 })
            }),
            border: DMatrix::zeros(n, 0),
        };
        let devices = each.iter().map(|(law, ..)| device(law).unwrap()).collect();
        Motion { devices, contained: vec![Complex::ZERO; n], fixed: Vec::new(), ports }
    }

    #[test]
    fn lit_lamps_below_what_holds_them_go_out_unless_they_flicker() {
        let motion = apart(&[(lamp(), 40.0, 1.0), (lamp(), 40.0, 1.0), (lamp(), 60.0, 1.0)]);
        let mut rest = Rest::start(&motion.devices);
        rest.lit = vec![true; 3];
        rest.flickering[1] = true;
        let point = motion.at(&rest).unwrap();
        assert_eq!(motion.going_out(&rest, &point).collect::<Vec<_>>(), [0]);
        rest.lit[0] = false;
        assert_eq!(motion.going_out(&rest, &point).count(), 0, "what is dark does not go out");
    }

    #[test]
    fn two_lamps_between_hold_and_strike_are_found_lit_in_every_combination() {
        let motion = apart(&[(lamp(), 60.0, 1.0), (lamp(), 65.0, 1.0)]);
        let reached = motion.reach(Rest::start(&motion.devices)).unwrap();
        assert_eq!(reached.lit, [false, false]);
        let mut found: Vec<_> =
            motion.others(&reached).unwrap().into_iter().map(|rest| rest.lit).collect();
        found.sort_unstable();
        assert_eq!(found, [[false, true], [true, false], [true, true]]);
    }

    #[test]
    fn two_states_are_one_only_with_the_same_lamps_lit_and_nearly_the_same_sizes() {
        let motion = apart(&[(lamp(), 60.0, 1.0), (lamp(), 60.0, 1.0)]);
        let mut rest = Rest::start(&motion.devices);
        rest.size = DVector::from_element(2, 1e-5);
        assert!(is_same(&rest, &rest.clone()));
        let mut other = rest.clone();
        other.lit[1] = true;
        assert!(!is_same(&rest, &other) && !is_same(&other, &rest));
        let mut other = rest.clone();
        other.flickering[0] = true;
        assert!(!is_same(&rest, &other) && !is_same(&other, &rest));
        for (by, same) in [(1e-7, true), (-1e-7, true), (1e-5, false), (-1e-5, false)] {
            for j in 0..2 {
                let mut other = rest.clone();
                other.size[j] *= 1.0 + by;
                assert_eq!(is_same(&rest, &other), same, "{by}");
            }
        }
    }

    /// Of a load of 90 W that cuts out at 80 V, behind so many ohms of 120 V: the share of its
    /// voltage that its range of sizes moves on its own port, and how far it is above its cut-out.
    fn margin(ohm: f64) -> (Motion, Rest, f64, f64) {
        let law = Law::ConstantPower { active_watt: 90.0, reactive_var: 0.0, cut_out_volt: 80.0 };
        let motion = apart(&[(law, 120.0, ohm)]);
        let reached = motion.reach(Rest::start(&motion.devices)).unwrap();
        // V² - 120 V + 90 z = 0.
        let volt = 60.0 + (3600.0 - 90.0 * ohm).sqrt();
        let [x, most, least] = [90.0 / (volt * volt), 90.0 / 6400.0, 90.0 / 6400.0 / 1e9];
        let share = ohm * (most - x).max(x - least);
        (motion, reached, share, volt)
    }

    #[test]
    fn a_load_is_suspected_of_a_second_state_where_its_own_range_could_bring_it_to_its_cut_out() {
        let mut n_both = [0; 2];
        for ohm in (1..70).map(|half| f64::from(half) / 2.0) {
            let (motion, reached, share, volt) = margin(ohm);
            // |v - v_reached| is at most this, by the bound of the method.
            let may_be = share >= COUPLING_SAFE || volt - share / (1.0 - share) * volt <= 80.0;
            assert_eq!(!motion.suspects(&reached).is_empty(), may_be, "{ohm} ohms");
            n_both[usize::from(may_be)] += 1;
        }
        assert!(n_both[0] > 5 && n_both[1] > 5, "{n_both:?}");
    }

    #[test]
    fn what_one_port_takes_from_another_counts_for_the_suspicion_too() {
        let law = Law::ConstantPower { active_watt: 90.0, reactive_var: 0.0, cut_out_volt: 80.0 };
        let with = |common_ohm: f64| {
            let mut motion = apart(&[(law, 120.0, 2.0), (law, 120.0, 2.0), (lamp(), 10.0, 1.0)]);
            (motion.ports.impedance[(0, 1)], motion.ports.impedance[(1, 0)]) =
                (Complex::from(common_ohm), Complex::from(common_ohm));
            let reached = motion.reach(Rest::start(&motion.devices)).unwrap();
            motion.suspects(&reached)
        };
        // Each moves by some 0.7 % of 120 V for every ohm: alone by two volts, with 50 ohms more
        // beyond a fifth, where it could fold.
        assert_eq!(with(0.0), [0; 0]);
        assert_eq!(with(40.0), [0, 1, 2], "all of them then");
    }
}
