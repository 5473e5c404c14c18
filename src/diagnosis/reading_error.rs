//! How far a reading may lie from what the model predicts, and what is shared by all readings.

use super::look::{Channel, Measure};
use super::stated::Stated;
use crate::instrument::Band;

/// How far what is seen may differ from what is predicted.
///
/// A circuit is never quite as described: its lengths and loads are off, its supply is not
/// nominal, and people misread. What all readings share (supply, lengths) is integrated over
/// together; what each has of its own has heavy tails.
///
/// ```
/// use slotwise::diagnosis::ReadingError;
/// let novice = ReadingError { misread: 0.05, ..ReadingError::default() };
/// assert!(novice.misread > ReadingError::default().misread);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct ReadingError {
    /// Chance that an indicator or a detector is misread or misreported.
    pub misread: f64,
    /// Chance that a figure has nothing to do with what was there.
    pub wild_figure: f64,
    /// Standard deviation of the supply, as a share of what is stated; shared by all readings.
    pub supply_share: f64,
    /// The same of what conductors lose and of how loads in series share a voltage: lengths and
    /// loads as described are off by this. Shared by all readings.
    pub drop_share: f64,
    /// What a meter is off at least, volts.
    pub meter_volt: f64,
    /// What a meter is off in proportion.
    pub meter_share: f64,
    /// Trust in a floating conductor: share of the difference between what the meter and what a
    /// load of an indicator's resistance leaves there.
    pub floating_share: f64,
    /// Width of the edge of every threshold, as a share of it.
    pub edge_share: f64,
    /// Degrees of freedom of the tails are four; `false` makes them those of a normal error.
    pub heavy_tails: bool,
}

impl Default for ReadingError {
    fn default() -> Self {
        Self {
            misread: 0.02,
            wild_figure: 0.02,
            supply_share: 0.025,
            drop_share: 0.2,
            meter_volt: 0.8,
            meter_share: 0.01,
            floating_share: 0.5,
            edge_share: 0.06,
            heavy_tails: true,
        }
    }
}

impl ReadingError {
    /// The tolerance of the instruments alone, as if the circuit were exactly as described: what
    /// one should not use, kept to show what it costs.
    pub fn of_instruments_alone() -> Self {
        Self {
            misread: 1e-4,
            wild_figure: 1e-6,
            supply_share: 0.0,
            drop_share: 0.0,
            meter_volt: 0.3,
            meter_share: 0.01,
            floating_share: 0.0,
            edge_share: 0.01,
            heavy_tails: false,
        }
    }
}

/// A value of what all readings share.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shared {
    /// The supply, as a multiple of what is stated.
    supply: f64,
    /// What conductors lose, as a multiple of what is predicted.
    drop: f64,
    /// Where the edges of indicators and detectors lie in their bands, in widths of an edge.
    edge: f64,
    pub(super) weight: f64,
    /// Logarithm of its weight.
    pub(super) ln_weight: f64,
}

/// Chances of what channels show.
#[derive(Clone, Debug)]
pub(super) struct Chances {
    error: ReadingError,
    /// What the circuit itself states as ranges.
    stated: Stated,
    pub(super) shared: Vec<Shared>,
    /// Voltages that a held conductor has to another whatever the lengths: none, and those of
    /// the supply.
    rails: Vec<f64>,
}

/// Three points of a normal distribution, in standard deviations, with their weights.
const THREE: [(f64, f64); 3] = [(-1.41, 0.25), (0.0, 0.5), (1.41, 0.25)];
const ONE: [(f64, f64); 1] = [(0.0, 1.0)];

/// Of looks at an indicator that are misread, so many times less are those at a load or at what trips.
const LOADS_MISREAD: f64 = 0.3;

/// Of the width of an edge, so much is where one instrument's lies and so much is each look's.
const EDGE_SHARED: f64 = 1.0;
const EDGE_OWN: f64 = 0.6;

/// The width of an edge for what floats, in standard deviations of what a meter is off there.
const FLOATING_EDGE: f64 = 0.6;

/// Of the supply's voltage, so much comes from live cables beside a floating one: judgement.
const STRAY_SHARE: f64 = 0.4;

/// Below so many volts nothing says whether a conductor floats.
const STRAY_FROM_VOLT: f64 = 0.5;

/// From so many ohms on it is a leak that is measured, and no wire or joint; leaks are tried at a few
/// resistances, and a real one is off from these by this share, a standard deviation.
const LEAK_FROM_OHM: f64 = 100.0;
const BETWEEN_LEAKS: f64 = 0.4;

/// From so many ohms on it is sound insulation.
const LEAK_UP_TO_OHM: f64 = 1e7;

/// So many leaks have any resistance at all, alike likely in every decade from so little of one that
/// is tried to so much of it: damp is measured in kilohms and in megohms. Judgement.
const LEAKS_ANYWHERE: f64 = 0.4;
const LEAKS: (f64, f64) = (0.03, 300.0);

/// Figures are compared within so many volts or amperes: a chance and no density.
const WITHIN: f64 = 0.5;

/// A loaded tester compares two figures of its own within moments: so much of what meters are off.
const LOADED_SHARE: f64 = 0.4;

/// Of what a conductor loses so much is in joints that may be better than described.
const FEWER_JOINTS: f64 = 0.15;

/// It is seldom more than anything there has.
const BEYOND: f64 = 0.1;

/// A wild figure lies anywhere below this many volts.
const WILD_VOLT: f64 = 250.0;

/// A share of a figure that no instrument shows, and a figure, far within any error.
const NOBODY_READS: f64 = 1e-4;
const LEAST_READ: f64 = 1e-6;

/// Whether two figures are one to whatever is held there.
pub(super) fn is_one_to_anybody(one: f64, other: f64) -> bool {
    (one - other).abs() <= NOBODY_READS * one.abs() + LEAST_READ
}

impl Chances {
    pub(super) fn new(mut error: ReadingError, supply_volt: &[f64], stated: Stated) -> Self {
        // As if all were exactly as described, ranges are their middles.
        let stated = if error.drop_share > 0.0 { stated } else { Stated::default() };
        error.supply_share = error.supply_share.max(stated.supply);
        let points =
            |share: f64| -> &'static [(f64, f64)] { if share > 0.0 { &THREE } else { &ONE } };
        let mut shared = Vec::new();
        for &(supply, one) in points(error.supply_share) {
            for &(drop, other) in points(error.drop_share) {
                for &(edge, third) in points(error.drop_share) {
                    shared.push(Shared {
                        supply: 1.0 + supply * error.supply_share,
                        drop: 1.0 + drop * error.drop_share,
                        edge: EDGE_SHARED * edge,
                        weight: one * other * third,
                        ln_weight: f64::ln(one * other * third),
                    });
                }
            }
        }
        let mut rails = vec![0.0];
        rails.extend_from_slice(supply_volt);
        Self { error, stated, shared, rails }
    }

    /// The likeliest of what all readings share.
    pub(super) fn usual(&self) -> Option<&Shared> {
        self.shared.iter().max_by(|a, b| a.weight.total_cmp(&b.weight))
    }

    /// The voltage of the supply, the least if there are several.
    pub(super) fn nominal(&self) -> f64 {
        self.rails.iter().copied().filter(|volt| *volt > 1.0).fold(f64::INFINITY, f64::min)
    }

    /// The most that a figure is by what floats there.
    pub(super) fn highest(&self, value: f64) -> f64 {
        value.max(self.nominal()) * (1.0 + 3.0 * self.error.supply_share)
    }

    /// Distance to the nearest voltage that depends on no length and no load.
    fn off_rail(&self, volt: f64) -> f64 {
        let off = self.rails.iter().map(|rail| (volt - rail).abs());
        off.fold(f64::INFINITY, f64::min)
    }

    /// A predicted number under what is shared.
    pub(super) fn under(&self, channel: &Channel, value: f64, shared: &Shared) -> f64 {
        match channel.measure {
            Measure::Lost | Measure::LostAlong { .. } | Measure::Ampere => {
                shared.supply * shared.drop * value
            }
            Measure::Ohm { lead_ohm, .. } => lead_ohm + shared.drop * (value - lead_ohm),
            Measure::Share { .. } | Measure::Lamp => shared.supply * value,
            _ => {
                let rail = self
                    .rails
                    .iter()
                    .copied()
                    .min_by(|a, b| (value - a).abs().total_cmp(&(value - b).abs()))
                    .unwrap_or(0.0);
                shared.supply * (rail + (value - rail) * shared.drop)
            }
        }
    }

    /// What a figure is off by itself: its standard deviation where nothing is shared.
    pub(super) fn spread(&self, channel: &Channel, value: f64, gives_way: f64) -> f64 {
        let error = &self.error;
        let (length, loads) = (self.stated.length(channel.outlet), self.stated.loads);
        let square = |x: f64| x * x;
        match channel.measure {
            Measure::Lost | Measure::LostAlong { .. } => {
                square(error.meter_volt)
                    + square(0.05 * value)
                    + square(0.3 * error.drop_share * value)
                    + square(length * value)
            }
            Measure::Ampere => square(0.2) + square(0.1 * value) + square(loads * value),
            Measure::Ohm { lead_ohm, off_ohm } => {
                // A leak may have any resistance, between those that are tried too.
                let between = if value > LEAK_FROM_OHM { BETWEEN_LEAKS } else { 0.0 };
                let share = square(0.5 * error.drop_share) + square(length) + square(between);
                square(off_ohm) + share * square(value - lead_ohm)
            }
            _ => {
                square(error.meter_volt)
                    + square(error.meter_share * value)
                    + square(error.floating_share * self.floats(value, gives_way))
                    + square(0.5 * error.drop_share * self.off_rail(value))
                    + square(length.hypot(loads) * self.off_rail(value))
            }
        }
        .sqrt()
    }

    /// The same of figures below what is predicted. Joints that nobody described add to what a conductor
    /// loses; nothing takes from it but a shorter way and a second one.
    pub(super) fn spread_below(&self, channel: &Channel, value: f64, spread: f64) -> f64 {
        match channel.measure {
            Measure::LostAlong { .. } => {
                let length = self.stated.length(channel.outlet);
                let share = (0.3 * self.error.drop_share).hypot(FEWER_JOINTS).hypot(length);
                spread.min((self.error.meter_volt * LOADED_SHARE).hypot(share * value))
            }
            _ => spread,
        }
    }

    /// What the voltage of a floating conductor may lie off by: what it gives way by, or what other
    /// cables beside it, of which nobody knows, make of it.
    fn floats(&self, value: f64, gives_way: f64) -> f64 {
        if value < STRAY_FROM_VOLT {
            return gives_way;
        }
        let loose = (gives_way / value).clamp(0.0, 1.0);
        gives_way.max(loose * STRAY_SHARE * self.nominal())
    }

    /// The same with what is shared.
    pub(super) fn spread_in_all(&self, channel: &Channel, value: f64, gives_way: f64) -> f64 {
        let own = self.spread(channel, value, gives_way);
        let supply = match channel.measure {
            Measure::Ohm { .. } => 0.0,
            _ => self.error.supply_share * value,
        };
        let drop = match channel.measure {
            Measure::Lost | Measure::LostAlong { .. } | Measure::Ampere => value,
            Measure::Ohm { lead_ohm, .. } => value - lead_ohm,
            _ => self.off_rail(value),
        };
        (own * own + supply * supply + (self.error.drop_share * drop).powi(2)).sqrt()
    }

    /// The chance that a figure lies below a bound.
    pub(super) fn up_to_blurred(&self, bound: f64, value: f64, spread: f64) -> f64 {
        let wild = self.wild((0.0, bound));
        let inside = self.up_to((bound - value) / spread);
        (1.0 - self.error.wild_figure) * inside + self.error.wild_figure * wild
    }

    /// Of figures that have nothing to do with what is there, the share within bounds: half lie
    /// anywhere, half are what is read elsewhere, the supply or nothing.
    fn wild(&self, (low, high): (f64, f64)) -> f64 {
        let anywhere = ((high.min(WILD_VOLT) - low).max(0.0) / WILD_VOLT).min(1.0);
        let usual = [0.0, self.nominal()].into_iter().filter(|volt| low <= *volt && *volt <= high);
        0.5 * anywhere + 0.25 * usual.count() as f64
    }

    /// The chance that a figure of ohms lies below a bound; what is wild is over range.
    pub(super) fn ohms_up_to(&self, bound: f64, value: f64, spread: f64) -> f64 {
        (1.0 - self.error.wild_figure) * self.up_to_ohm(bound, value, spread)
    }

    /// The chance that a figure of ohms lies within bounds, if it is of what is there.
    pub(super) fn ohms_within(&self, (low, high): (f64, f64), value: f64, spread: f64) -> f64 {
        let at = |bound: f64| self.up_to_ohm(bound, value, spread);
        (at(high) - at(low)).max(0.0)
    }

    /// The same without what is wild. Of a leak the resistance that is tried stands for decades.
    fn up_to_ohm(&self, bound: f64, value: f64, spread: f64) -> f64 {
        let near = self.up_to((bound - value) / spread);
        if !(LEAK_FROM_OHM..LEAK_UP_TO_OHM).contains(&value) {
            return near;
        }
        let (least, most) = (value * LEAKS.0, value * LEAKS.1);
        let anywhere = (bound.clamp(least, most) / least).ln() / (most / least).ln();
        (1.0 - LEAKS_ANYWHERE) * near + LEAKS_ANYWHERE * anywhere
    }

    /// The chance that a figure lies within bounds, spread differently below and above what is predicted.
    pub(super) fn within(
        &self,
        (low, high): (f64, f64),
        value: f64,
        (below, above): (f64, f64),
    ) -> f64 {
        let at = |bound: f64| {
            let spread = if bound < value { below } else { above };
            self.up_to((bound - value) / spread)
        };
        let inside = (at(high + WITHIN) - at(low - WITHIN)).max(0.0);
        let beyond = if low > self.highest(value) { BEYOND } else { 1.0 };
        let wild = beyond * self.wild((low - WITHIN, high + WITHIN));
        (1.0 - self.error.wild_figure) * inside + self.error.wild_figure * wild
    }

    /// The chance that a threshold is reached, wherever in its band the edge lies, by a value
    /// that gives way by so much.
    pub(super) fn reaches(&self, band: Band, value: f64, gives_way: f64) -> f64 {
        let (middle, width) = self.edge(band, gives_way);
        logistic((value - middle) / width)
    }

    /// The same where the edge lies as for all looks.
    pub(super) fn reaches_under(
        &self,
        band: Band,
        (value, gives_way): (f64, f64),
        shared: &Shared,
    ) -> f64 {
        let (middle, width) = self.edge(band, gives_way);
        logistic((value - middle - shared.edge * width) / (EDGE_OWN * width))
    }

    /// The middle of an edge and its width: what floats may lie anywhere near, and alike for all
    /// looks at it.
    fn edge(&self, band: Band, gives_way: f64) -> (f64, f64) {
        let middle = 0.5 * (band.low + band.high);
        let width = 0.25 * (band.high - band.low) + self.error.edge_share * middle;
        let floats = FLOATING_EDGE * self.error.floating_share * gives_way;
        (middle, width.hypot(floats).max(1e-9))
    }

    /// The chances of what is reported of an indicator that is dark, dim or lit with these
    /// chances: one step off is a common slip, two a rare one.
    pub(super) fn reported(&self, [dark, dim, lit]: [f64; 3]) -> [f64; 3] {
        let (near, far) = (2.0 * self.error.misread, 0.5 * self.error.misread);
        [
            dark * (1.0 - near - far) + dim * near + lit * far,
            dim * (1.0 - 2.0 * near) + (dark + lit) * near,
            lit * (1.0 - near - far) + dim * near + dark * far,
        ]
    }

    /// With the chance of misreading, among so many things that can be shown.
    pub(super) fn misread_among(&self, chance: f64, several: usize) -> f64 {
        (1.0 - self.error.misread) * chance + self.error.misread / several.max(1) as f64
    }

    /// The same of what a breaker or device does, which is heard by anybody.
    pub(super) fn trip_misread(&self, chance: f64) -> f64 {
        let misread = LOADS_MISREAD * self.error.misread;
        (1.0 - misread) * chance + misread / 3.0
    }

    /// The same of what a load does, which is seen by anybody.
    pub(super) fn load_misread(&self, chance: f64) -> f64 {
        let misread = LOADS_MISREAD * self.error.misread;
        (1.0 - misread) * chance + misread / 4.0
    }

    /// Share of a distribution below so many standard deviations.
    fn up_to(&self, x: f64) -> f64 {
        if x.is_infinite() {
            return if x > 0.0 { 1.0 } else { 0.0 };
        }
        match self.error.heavy_tails {
            // Student's distribution with four degrees of freedom.
            true => {
                let s = 1.0 + x * x / 4.0;
                0.5 + 0.375 * (x / s.sqrt()) * (1.0 - x * x / (12.0 * s))
            }
            // The logistic that is nearest to the normal distribution, within 1 %.
            false => logistic(1.702 * x),
        }
    }
}

/// 1 / (1 + e^-x).
pub(super) fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

/// Logarithm of a sum of exponentials.
pub(super) fn ln_sum_exp(all: impl Iterator<Item = f64> + Clone) -> f64 {
    let most = all.clone().fold(f64::NEG_INFINITY, f64::max);
    if most == f64::NEG_INFINITY {
        return most;
    }
    most + all.map(|one| (one - most).exp()).sum::<f64>().ln()
}

#[cfg(test)]
mod tests {
    use super::{Chances, ReadingError, Stated};
    use crate::instrument::Band;

    #[test]
    fn a_figure_far_off_is_unlikely_but_never_impossible() {
        let chances = Chances::new(ReadingError::default(), &[120.0], Stated::default());
        let near = chances.within((119.5, 120.5), 120.0, (1.5, 1.5));
        let far = chances.within((59.5, 60.5), 120.0, (1.5, 1.5));
        assert!(near > 0.2 && far > 1e-6 && far < 1e-3, "{near} {far}");
        let naive = Chances::new(ReadingError::of_instruments_alone(), &[120.0], Stated::default());
        assert!(naive.within((110.0, 111.0), 120.0, (1.2, 1.2)) < 1e-4);
    }

    #[test]
    fn everything_that_a_figure_can_be_adds_up_to_one() {
        let chances = Chances::new(ReadingError::default(), &[120.0], Stated::default());
        let all = chances.within((0.0, f64::INFINITY), 60.0, (2.0, 2.0));
        assert!((all - 1.0).abs() < 0.01, "{all}");
    }

    #[test]
    fn a_threshold_has_a_soft_edge() {
        let chances = Chances::new(ReadingError::default(), &[120.0], Stated::default());
        let lit = Band::between(80.0, 90.0);
        assert!((chances.reaches(lit, 85.0, 0.0) - 0.5).abs() < 1e-12);
        assert!(chances.reaches(lit, 120.0, 0.0) > 0.98 && chances.reaches(lit, 40.0, 0.0) < 0.02);
    }

    #[test]
    fn a_detector_at_a_conductor_that_floats_says_less_than_at_one_that_is_held() {
        let chances = Chances::new(ReadingError::default(), &[120.0], Stated::default());
        let sounds = Band::between(50.0, 90.0);
        assert!(chances.reaches(sounds, 100.0, 90.0) < chances.reaches(sounds, 100.0, 0.0) - 0.03);
        assert!(chances.reaches(sounds, 40.0, 40.0) > chances.reaches(sounds, 40.0, 0.0));
    }
}
