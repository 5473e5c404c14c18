//! The person with the instruments: what each instrument is as a circuit element, what it shows,
//! and what the person makes of it.

use crate::hidden::{GROUND, HOT, Level, NEUTRAL};
use crate::network::C;
use crate::random::Chance;
use crate::wired::{Input, Sitting};

/// Pairs of slots that a tester's lamps and a meter's probes span.
pub(crate) const PAIRS: [(usize, usize); 3] = [(HOT, NEUTRAL), (HOT, GROUND), (NEUTRAL, GROUND)];

/// Above this an ohmmeter shows that it is over its range.
const OVER_RANGE_OHM: f64 = 20e6;

/// How bright an indicator looked.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Bright {
    /// Not at all.
    Dark,
    /// A little.
    Dim,
    /// As it should.
    Lit,
}

/// The person's instruments and eyes, drawn once for each scenario.
#[derive(Clone, Debug)]
pub(crate) struct Person {
    /// Resistance behind each lamp, ohms.
    lamp_ohm: f64,
    /// Volts from which a lamp is dim, and lit.
    dim_volt: f64,
    lit_volt: f64,
    /// Volts to earth from which the detector sounds.
    alarm_volt: f64,
    /// The meter's gain.
    gain: f64,
    /// The test load, ohms.
    load_ohm: f64,
    /// Probability that something is misread.
    misreads: f64,
}

impl Person {
    /// Instruments within their own tolerance, at full mismatch beyond it.
    pub(crate) fn new(level: Level, misread_times: f64, chance: &mut Chance) -> Self {
        let full = level == Level::Full;
        let beyond = if full { chance.between(-6.0, 6.0) } else { 0.0 };
        Self {
            lamp_ohm: if full { 68e3 * chance.between(0.8, 1.25) } else { 68e3 },
            dim_volt: chance.between(30.0, 40.0) + beyond,
            lit_volt: chance.between(80.0, 90.0) + beyond,
            alarm_volt: chance.between(50.0, 90.0),
            gain: 1.0 + 0.005 * chance.normal().clamp(-2.0, 2.0),
            load_ohm: if full { 8.0 * chance.between(0.95, 1.05) } else { 8.0 },
            misreads: if full { chance.between(0.01, 0.03) * misread_times } else { 0.0 },
        }
    }

    /// A plug-in tester as it is read.
    pub(crate) fn tester(
        &self,
        sitting: &Sitting<'_>,
        at: usize,
        chance: &mut Chance,
    ) -> Option<[Bright; 3]> {
        let lamps = self.lamps(sitting, at)?;
        Some(lamps.map(|seen| match (chance.happens(self.misreads), seen) {
            (false, seen) => seen,
            (true, Bright::Dark) => Bright::Lit,
            (true, _) => Bright::Dark,
        }))
    }

    /// A plug-in tester: three lamps at once.
    pub(crate) fn lamps(&self, sitting: &Sitting<'_>, at: usize) -> Option<[Bright; 3]> {
        let y = C::new(1.0 / self.lamp_ohm, 0.0);
        let volts = sitting.volts(&PAIRS.map(|wires| Input { at, wires, y }))?;
        Some(PAIRS.map(|wires| match volts.across(at, wires).norm() {
            volt if volt >= self.lit_volt => Bright::Lit,
            volt if volt >= self.dim_volt => Bright::Dim,
            _ => Bright::Dark,
        }))
    }

    /// A meter of ten megohms between two slots, volts.
    pub(crate) fn meter(
        &self,
        sitting: &Sitting<'_>,
        at: usize,
        wires: (usize, usize),
        chance: &mut Chance,
    ) -> Option<f64> {
        let y = C::new(1e-7, std::f64::consts::TAU * 60.0 * 100e-12);
        let volts = sitting.volts(&[Input { at, wires, y }])?;
        Some(self.read(volts.across(at, wires).norm(), chance))
    }

    /// A loaded test between hot and neutral: volts lost in all, along the hot, along the
    /// neutral.
    pub(crate) fn loaded_test(
        &self,
        sitting: &Sitting<'_>,
        at: usize,
        chance: &mut Chance,
    ) -> Option<[f64; 3]> {
        let before = sitting.volts(&[])?;
        let load = Input { at, wires: (HOT, NEUTRAL), y: C::new(1.0 / self.load_ohm, 0.0) };
        let after = sitting.volts(&[load])?;
        let size = |wires| before.across(at, wires).norm() - after.across(at, wires).norm();
        let lost =
            |wires: (usize, usize)| (before.across(at, wires) - after.across(at, wires)).norm();
        let shown = [size((HOT, NEUTRAL)), lost((HOT, GROUND)), lost((NEUTRAL, GROUND))];
        Some(shown.map(|volt| self.read(volt.max(0.0), chance)))
    }

    /// A non-contact detector at one slot.
    pub(crate) fn detector(
        &self,
        sitting: &Sitting<'_>,
        at: usize,
        wire: usize,
        chance: &mut Chance,
    ) -> Option<bool> {
        let sounds = sitting.volts(&[])?.slot(at, wire).norm() >= self.alarm_volt;
        Some(sounds != chance.happens(self.misreads))
    }

    /// An ohmmeter between two conductors of a cable that is off, or of the slots of a box: ohms, or
    /// nothing for over range.
    pub(crate) fn ohmmeter(
        &self,
        sitting: &Sitting<'_>,
        (at, wires): (Option<usize>, (usize, usize)),
        chance: &mut Chance,
    ) -> Option<Option<f64>> {
        let ohm = sitting.ohms(at, wires)?;
        let shown = match chance.happens(self.misreads) {
            true if ohm < OVER_RANGE_OHM => f64::INFINITY,
            true => chance.between(0.0, 30.0),
            false => (ohm * self.gain + chance.between(0.1, 0.4)).max(0.0),
        };
        Some((shown < OVER_RANGE_OHM).then(|| (shown * 10.0).round() / 10.0))
    }

    /// A figure as read: the meter's gain, its last digit, and now and then something else.
    fn read(&self, volt: f64, chance: &mut Chance) -> f64 {
        let shown = (volt * self.gain * 10.0).round() / 10.0;
        if chance.happens(self.misreads) { chance.between(0.0, 130.0).round() } else { shown }
    }
}
