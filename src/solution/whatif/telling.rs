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
        match (self.in_order[group], impedances) {
            (true, true) => {
                let mut in_order = InOrder::<true>::new(shown);
                self.show(how, (walk, lane), &mut in_order);
                in_order.are_told()
            }
            (true, false) => {
                let mut in_order = InOrder::<false>::new(shown);
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
    /// Nothing, or not a number if what is seen somewhere is not finite.
    odd: [f64; LANES],
}

impl<'s, const IMPEDANCES: bool> InOrder<'s, IMPEDANCES> {
    fn new(shown: &'s mut [PortSight]) -> Self {
        Self { shown, is_lacking: false, odd: [0.0; LANES] }
    }

    #[inline(always)]
    fn seen(difference: Complex<f64>, impedance: Complex<f64>) -> PortSight {
        PortSight {
            voltage_volt: Some(phasor(difference)),
            impedance: IMPEDANCES.then(|| Impedance::new(impedance.re, impedance.im)),
        }
    }

    fn are_told(&self) -> bool {
        !self.is_lacking && !self.odd.iter().any(|odd| odd.is_nan())
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
            _ => self.is_lacking = true,
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
