//! What ports show to whoever asked, from what their rows do.

use nalgebra::Complex;

use super::PortSight;
use super::prepared::{PortPlan, Prepared};
use crate::network::{LANES, Shows, Sight, Walk, Wide, phasor};
use crate::quantity::Impedance;

/// What ports show, from what their rows do; whether all of them are told.
fn tell<const IMPEDANCES: bool>(
    plans: &[PortPlan],
    sights: &[Sight],
    shown: &mut [PortSight],
) -> bool {
    let seen = |z: Complex<f64>| IMPEDANCES.then(|| Impedance::new(z.re, z.im));
    for (plan, shown) in plans.iter().zip(shown) {
        let sight = |at: &u32| sights[*at as usize];
        *shown = match plan {
            PortPlan::Parted => PortSight::default(),
            PortPlan::One { emf } => {
                PortSight { voltage_volt: Some(phasor(*emf)), impedance: seen(Complex::ZERO) }
            }
            PortPlan::Near { at, emf } => {
                let Sight { difference, impedance, tied } = sight(at);
                match tied {
                    [true, true] if difference.re.is_finite() && difference.im.is_finite() => {
                        PortSight {
                            voltage_volt: Some(phasor(difference + emf)),
                            impedance: seen(impedance),
                        }
                    }
                    _ => return false,
                }
            }
            PortPlan::Far { first, second, emf } => {
                let reckoned = [first, second].map(|at| at.as_ref().map(sight));
                let [a, b] = reckoned.map(|sight| sight.unwrap_or_default().difference);
                let voltage = a - b + emf;
                match reckoned.map(|sight| sight.is_none_or(|sight| sight.is_tied())) {
                    [true, true] if voltage.re.is_finite() && voltage.im.is_finite() => {
                        PortSight { voltage_volt: Some(phasor(voltage)), impedance: None }
                    }
                    _ => return false,
                }
            }
        };
    }
    true
}

impl Prepared {
    /// Reads the ports of a group, of a set among those solved side by side if its lane is said, and
    /// says what they show; whether all of them are told.
    pub(super) fn read_out(
        &self,
        (group, impedances): (usize, bool),
        (walk, lane): (&mut Walk, Option<usize>),
        sight: &mut [Sight],
        shown: &mut [PortSight],
    ) -> bool {
        let how = (group, impedances);
        if lane.is_none() && !walk.has_gone() && !self.groups[group].1.is_empty() {
            return false;
        }
        let n_ports = self.groups[group].1.len();
        match (self.in_order[group], impedances) {
            (true, true) => {
                let mut in_order = InOrder::<true>::new(&mut shown[..n_ports]);
                self.show(how, (walk, lane), &mut in_order);
                in_order.are_told()
            }
            (true, false) => {
                let mut in_order = InOrder::<false>::new(&mut shown[..n_ports]);
                self.show(how, (walk, lane), &mut in_order);
                in_order.are_told()
            }
            (false, _) => {
                self.show(how, (walk, lane), sight);
                tells(impedances, &self.groups[group].1, sight, shown)
            }
        }
    }

    #[inline(always)]
    fn show(
        &self,
        (group, impedances): (usize, bool),
        (walk, lane): (&mut Walk, Option<usize>),
        shown: &mut (impl Shows + ?Sized),
    ) {
        let of = (group, &self.groups[group].0);
        match lane {
            Some(lane) => walk.read_lane(&self.rerooted, of, (lane, impedances), shown),
            None => walk.read(&self.rerooted, of, impedances, shown),
        }
    }
}

/// As [`tell`]: a choice made once and not for every port.
pub(super) fn tells(
    impedances: bool,
    plans: &[PortPlan],
    sight: &[Sight],
    shown: &mut [PortSight],
) -> bool {
    match impedances {
        true => tell::<true>(plans, sight, shown),
        false => tell::<false>(plans, sight, shown),
    }
}

/// Ports in the order of their rows, with no EMF of their own: they are told as they are read.
struct InOrder<'s, const IMPEDANCES: bool> {
    shown: &'s mut [PortSight],
    /// Whether there is one that is not told.
    is_lacking: bool,
    /// Whether one was shown of which an end leads nowhere; it may be shown otherwise after.
    is_cut_off: bool,
    /// Nothing, or not a number if what is seen somewhere is not finite.
    odd: [f64; LANES],
}

impl<'s, const IMPEDANCES: bool> InOrder<'s, IMPEDANCES> {
    fn new(shown: &'s mut [PortSight]) -> Self {
        Self { shown, is_lacking: false, is_cut_off: false, odd: [0.0; LANES] }
    }

    #[inline(always)]
    fn seen(difference: Complex<f64>, impedance: Complex<f64>) -> PortSight {
        PortSight {
            voltage_volt: Some(phasor(difference)),
            impedance: IMPEDANCES.then(|| Impedance::new(impedance.re, impedance.im)),
        }
    }

    fn are_told(&self) -> bool {
        let are_seen = || self.shown.iter().all(|shown| shown.voltage_volt.is_some());
        !self.is_lacking
            && !self.odd.iter().any(|odd| odd.is_nan())
            && (!self.is_cut_off || are_seen())
    }
}

impl<const IMPEDANCES: bool> Shows for InOrder<'_, IMPEDANCES> {
    #[inline(always)]
    fn show(&mut self, asked: usize, Sight { difference, impedance, tied }: Sight) {
        let Some(shown) = self.shown.get_mut(asked) else { return };
        match tied {
            [true, true] => {
                *shown = Self::seen(difference, impedance);
                self.is_lacking |= !(difference.re.is_finite() && difference.im.is_finite());
            }
            // Nothing joins the two, or what does cancels to the last digit.
            _ => {
                *shown = PortSight::default();
                self.is_cut_off = true;
            }
        }
    }

    #[inline(always)]
    fn show_tied(&mut self, asked: [u32; LANES], difference: &Wide, impedance: &Wide) {
        for (lane, asked) in asked.into_iter().enumerate() {
            if let Some(shown) = self.shown.get_mut(asked as usize) {
                *shown = Self::seen(difference.get(lane), impedance.get(lane));
            }
        }
        let odd = difference.times_nothing();
        self.odd.iter_mut().zip(odd).for_each(|(own, odd)| *own += odd);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Phasor;

    const EMF: Complex<f64> = Complex::new(100.0, 10.0);

    fn sight(difference: Complex<f64>, tied: [bool; 2]) -> Sight {
        Sight { difference, impedance: Complex::new(2.0, 3.0), tied }
    }

    /// What one port shows, if it is told.
    fn told(plan: PortPlan, sights: &[Sight], impedances: bool) -> Option<PortSight> {
        // What was there before is not what is told.
        let before = PortSight { voltage_volt: Some(Phasor::new(7.0, 7.0)), impedance: None };
        let mut shown = [before];
        tells(impedances, &[plan], sights, &mut shown).then_some(shown[0])
    }

    fn shows(re: f64, im: f64, ohms: Option<(f64, f64)>) -> Option<PortSight> {
        let impedance = ohms.map(|(re, im)| Impedance::new(re, im));
        Some(PortSight { voltage_volt: Some(Phasor::new(re, im)), impedance })
    }

    const NOTHING: Option<PortSight> = Some(PortSight { voltage_volt: None, impedance: None });

    #[test]
    fn a_port_of_one_point_shows_the_emf_between_its_ends_and_no_ohms() {
        let one = PortPlan::One { emf: EMF };
        assert_eq!(told(one, &[], true), shows(100.0, 10.0, Some((0.0, 0.0))));
        assert_eq!(told(one, &[], false), shows(100.0, 10.0, None));
        assert_eq!(told(PortPlan::Parted, &[], true), NOTHING);
    }

    #[test]
    fn a_port_of_its_own_shows_what_is_seen_and_the_emf_where_both_ends_lead_somewhere() {
        let near = PortPlan::Near { at: 1, emf: EMF };
        let seen = |difference, tied| [sight(Complex::ONE, [true; 2]), sight(difference, tied)];
        let volts = Complex::new(-20.0, 5.0);
        assert_eq!(told(near, &seen(volts, [true; 2]), true), shows(80.0, 15.0, Some((2.0, 3.0))));
        assert_eq!(told(near, &seen(volts, [true; 2]), false), shows(80.0, 15.0, None));
        for apart in [[true, false], [false, true], [false; 2]] {
            assert_eq!(told(near, &seen(volts, apart), true), None, "only a whole solve tells");
        }
        for odd in [Complex::new(f64::NAN, 1.0), Complex::new(1.0, f64::INFINITY)] {
            assert_eq!(told(near, &seen(odd, [true; 2]), true), None, "{odd}");
        }
    }

    #[test]
    fn a_far_port_shows_the_difference_of_two_potentials_and_never_an_impedance() {
        let seen = |tied: [bool; 2]| {
            let potentials = [Complex::new(50.0, 1.0), Complex::new(20.0, 4.0)];
            [0, 1].map(|at| sight(potentials[at], [tied[at], true]))
        };
        let far = |first, second| PortPlan::Far { first, second, emf: EMF };
        let both = far(Some(0), Some(1));
        assert_eq!(told(both, &seen([true; 2]), true), shows(130.0, 7.0, None));
        // The reference is at nothing.
        assert_eq!(told(far(Some(0), None), &seen([true; 2]), true), shows(150.0, 11.0, None));
        assert_eq!(told(far(None, Some(1)), &seen([true; 2]), true), shows(80.0, 6.0, None));
        for apart in [[true, false], [false, true], [false; 2]] {
            assert_eq!(told(both, &seen(apart), true), None);
        }
        for odd in [Complex::new(f64::INFINITY, 1.0), Complex::new(1.0, f64::NAN)] {
            let sights = [sight(odd, [true; 2]), sight(Complex::ONE, [true; 2])];
            assert_eq!(told(both, &sights, true), None, "{odd}");
        }
    }

    /// Whether all are told, and what they show.
    fn in_order<const IMPEDANCES: bool>(
        show: impl Fn(&mut InOrder<'_, IMPEDANCES>),
    ) -> (bool, Vec<PortSight>) {
        let mut shown = vec![PortSight::default(); LANES];
        let mut of_them = InOrder::<IMPEDANCES>::new(&mut shown);
        show(&mut of_them);
        let are_told = of_them.are_told();
        (are_told, shown)
    }

    #[test]
    fn ports_in_their_order_are_told_one_by_one_as_they_are_read() {
        let volts = Complex::new(-20.0, 5.0);
        let (are_told, shown) = in_order::<true>(|all| {
            all.show(2, sight(volts, [true; 2]));
            all.show(99, sight(volts, [false; 2]));
        });
        assert!(are_told);
        assert_eq!(Some(shown[2]), shows(-20.0, 5.0, Some((2.0, 3.0))));
        // What seems cut off at first, and is shown otherwise after, is told.
        let (are_told, shown) = in_order::<true>(|all| {
            for port in 0..LANES {
                all.show(port, sight(volts, [true, false]));
                all.show(port, sight(volts, [true; 2]));
            }
        });
        assert!(are_told);
        assert!(shown.iter().all(|one| Some(*one) == shows(-20.0, 5.0, Some((2.0, 3.0)))));
        let (_, shown) = in_order::<false>(|all| all.show(2, sight(volts, [true; 2])));
        assert_eq!(Some(shown[2]), shows(-20.0, 5.0, None));
        for apart in [[true, false], [false, true], [false; 2]] {
            assert!(!in_order::<true>(|all| all.show(0, sight(volts, apart))).0);
        }
        for odd in [Complex::new(f64::INFINITY, 1.0), Complex::new(1.0, f64::NAN)] {
            let (are_told, _) = in_order::<true>(|all| {
                all.show(0, sight(odd, [true; 2]));
                // One that is told does not make up for one that is not.
                all.show(1, sight(volts, [true; 2]));
            });
            assert!(!are_told, "{odd}");
        }
    }

    #[test]
    fn four_ports_are_told_at_once_with_one_that_is_no_number_told_from_the_others() {
        let mut volts = Wide::ZERO;
        let mut ohms = Wide::ZERO;
        for lane in 0..LANES {
            volts.set(lane, Complex::new(lane as f64, 10.0));
            ohms.set(lane, Complex::new(1.0, lane as f64));
        }
        // The last lane is filled with nothing that is asked for.
        let asked = [3, 0, 2, 99];
        let (are_told, shown) = in_order::<true>(|all| all.show_tied(asked, &volts, &ohms));
        assert!(are_told);
        for (lane, port) in [(0, 3), (1, 0), (2, 2)] {
            let lane = f64::from(lane);
            assert_eq!(Some(shown[port]), shows(lane, 10.0, Some((1.0, lane))));
        }
        assert_eq!(Some(shown[1]), NOTHING);
        for lane in 0..LANES {
            let mut odd = volts;
            odd.set(lane, Complex::new(1.0, f64::INFINITY));
            let (are_told, _) = in_order::<false>(|all| {
                all.show_tied(asked, &odd, &ohms);
                all.show_tied(asked, &volts, &ohms);
            });
            assert!(!are_told, "lane {lane}");
        }
    }
}
