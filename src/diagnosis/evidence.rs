//! What was seen, put to the channels of a row, and how likely a row makes it.

use crate::circuit::LoadKind;
use crate::instrument::{Band, Brightness, Glow};

use super::look::{Channel, Looks, Measure, same};
use super::predictions::Row;
use super::reading_error::{Chances, Shared, logistic};
use super::{Amount, LoadSeen, Protected, Showed};

/// One thing seen.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Fact {
    Glow { channel: usize, glow: Glow },
    Figure { channel: usize, amount: Amount },
    Step { channel: usize, label: Option<String> },
    Alarm { channel: usize, alarm: bool },
    Load { channel: usize, seen: LoadSeen, kind: LoadKind },
    Protection { name: String, did: Protected },
}

impl Fact {
    /// What a reading says, by the channels of an instrument at a receptacle; `None` for what
    /// says nothing or cannot be said of them.
    pub(super) fn of(looks: &Looks, among: &[usize], showed: &Showed) -> Option<Self> {
        if showed.says_nothing() {
            return None;
        }
        let find = |is: &dyn Fn(&Measure) -> bool| {
            among
                .iter()
                .copied()
                .find(|&at| looks.channels.get(at).is_some_and(|channel| is(&channel.measure)))
        };
        Some(match showed {
            Showed::Indicator { between: seen, glow } => {
                let is = |measure: &Measure| matches!(measure, Measure::Indicator { between, .. } if same(between, seen));
                Self::Glow { channel: find(&is)?, glow: *glow }
            }
            Showed::Volt(amount) => {
                let is = |measure: &Measure| matches!(measure, Measure::Volt { .. });
                Self::Figure { channel: find(&is)?, amount: *amount }
            }
            Showed::Step(label) => {
                let is = |measure: &Measure| matches!(measure, Measure::Step { .. });
                Self::Step { channel: find(&is)?, label: label.clone() }
            }
            Showed::Alarm(alarm) => {
                let is = |measure: &Measure| matches!(measure, Measure::Alarm { .. });
                Self::Alarm { channel: find(&is)?, alarm: *alarm }
            }
            Showed::LostVolt(amount) => {
                let is = |measure: &Measure| matches!(measure, Measure::Lost);
                Self::Figure { channel: find(&is)?, amount: *amount }
            }
            Showed::LostAlong { conductor, volt } => {
                let is = |measure: &Measure| matches!(measure, Measure::LostAlong { conductor: known } if known == conductor);
                Self::Figure { channel: find(&is)?, amount: *volt }
            }
            Showed::Ampere(amount) => {
                let is = |measure: &Measure| matches!(measure, Measure::Ampere);
                Self::Figure { channel: find(&is)?, amount: *amount }
            }
            Showed::Ohm(amount) => {
                let is = |measure: &Measure| matches!(measure, Measure::Ohm { .. });
                Self::Figure { channel: find(&is)?, amount: *amount }
            }
            Showed::Continuity(sounded) => {
                let is = |measure: &Measure| matches!(measure, Measure::Ohm { .. });
                let amount =
                    if *sounded { Amount::Under(SOUNDS_OHM) } else { Amount::Over(SOUNDS_OHM) };
                Self::Figure { channel: find(&is)?, amount }
            }
            Showed::Tripped(_) | Showed::NotSure => return None,
        })
    }

    /// The channel it is of.
    pub(super) const fn channel(&self) -> Option<usize> {
        match self {
            Self::Glow { channel, .. }
            | Self::Figure { channel, .. }
            | Self::Step { channel, .. }
            | Self::Alarm { channel, .. }
            | Self::Load { channel, .. } => Some(*channel),
            Self::Protection { .. } => None,
        }
    }

    /// Whether another fact says what the same showed.
    pub(super) fn is_of_the_same(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Protection { name, .. }, Self::Protection { name: known, .. }) => name == known,
            _ => self.channel().is_some() && self.channel() == other.channel(),
        }
    }

    /// How likely a row makes it.
    pub(super) fn chance(
        &self,
        chances: &Chances,
        looks: &Looks,
        row: &Row,
        shared: &Shared,
    ) -> f64 {
        if let Self::Protection { name, did: Protected::FoundOff } = self {
            return found_off(row, name);
        }
        if let Self::Protection { name, did } = self {
            let chance = protection(row, name, *did);
            return match did {
                // It may have held with less on than is said.
                Protected::Holds => chances.misread_among(chance, 3),
                _ => chances.trip_misread(chance),
            };
        }
        let Some(channel) = self.channel().and_then(|at| Some((at, looks.channels.get(at)?)))
        else {
            return 1.0;
        };
        let raw = row.value(channel.0);
        if raw.is_nan() {
            return self.chance_of_anything();
        }
        let channel = channel.1;
        let value = chances.under(channel, raw, shared);
        match self {
            Self::Glow { glow, .. } => {
                let shown =
                    glow_chances(channel, |band| chances.reaches_under(band, (value, 0.0), shared));
                said_of(*glow, chances.reported(shown))
            }
            Self::Figure { amount, .. } => {
                if let Measure::Ohm { off_ohm, .. } = channel.measure {
                    let bounds = ohm_bounds(*amount, off_ohm);
                    let spread = chances.spread(channel, raw, 0.0);
                    let plain = chances.ohms_within(bounds, value, spread);
                    return ohms(plain, bounds, value, looks.is_across_loads(channel));
                }
                let spreads = figure_spreads(chances, channel, (row, raw), *amount);
                chances.within(amount.bounds(), value, spreads)
            }
            Self::Step { label, .. } => {
                let Measure::Step { steps, .. } = &channel.measure else { return 1.0 };
                let at =
                    label.as_ref().and_then(|l| steps.iter().position(|(known, _)| known == l));
                let reached = |step: usize| {
                    steps
                        .get(step)
                        .map_or(0.0, |(_, band)| chances.reaches_under(*band, (value, 0.0), shared))
                };
                let chance = match at {
                    None => 1.0 - reached(0),
                    Some(step) => reached(step) - reached(step + 1),
                };
                chances.misread_among(chance.max(0.0), steps.len() + 1)
            }
            Self::Alarm { alarm, .. } => {
                let Measure::Alarm { band, .. } = &channel.measure else { return 1.0 };
                let yields = channel.gives_way(raw, row);
                let sounds = chances.reaches_under(*band, (value, yields), shared);
                chances.misread_among(if *alarm { sounds } else { 1.0 - sounds }, 2)
            }
            Self::Load { seen, kind, .. } => chances.load_misread(load_chance(*seen, *kind, value)),
            Self::Protection { .. } => 1.0,
        }
    }

    /// The same beside the likeliest figure that the row would make as fine: what floats may show any of many,
    /// each of them hardly likely by itself.
    pub(super) fn chance_beside_the_likeliest(
        &self,
        chances: &Chances,
        looks: &Looks,
        (row, shared): (&Row, &Shared),
    ) -> f64 {
        let chance = self.chance(chances, looks, row, shared);
        let likeliest = || {
            let Self::Figure { channel: at, amount } = self else { return None };
            let (channel, raw) = (looks.channels.get(*at)?, row.value(*at));
            let (low, high) = amount.bounds();
            if raw.is_nan() || !high.is_finite() || matches!(channel.measure, Measure::Ohm { .. }) {
                return None;
            }
            let (value, half) = (chances.under(channel, raw, shared), 0.5 * (high - low));
            let spreads = figure_spreads(chances, channel, (row, raw), *amount);
            Some(chances.within((value - half, value + half), value, spreads))
        };
        likeliest().map_or(chance, |likeliest| (chance / likeliest).min(1.0))
    }

    /// Whether an indicator is said to be dark.
    pub(super) fn is_of_a_dark_indicator(&self) -> bool {
        matches!(self, Self::Glow { glow, .. } if glow.at_most == Brightness::Dark)
    }

    /// The chance of what is said of an indicator to ground by whose tester a faint glow is dark; `None` of
    /// anything else.
    pub(super) fn chance_of_a_glow_if_faint_is_dark(
        &self,
        chances: &Chances,
        looks: &Looks,
        (row, shared): (&Row, &Shared),
    ) -> Option<f64> {
        let Self::Glow { channel, glow } = self else { return None };
        let (value, channel) = (row.value(*channel), looks.channels.get(*channel)?);
        let Measure::Indicator { between: (a, b), .. } = &channel.measure else { return None };
        if value.is_nan() || a != "ground" && b != "ground" {
            return None;
        }
        let value = chances.under(channel, value, shared);
        let [dark, dim, lit] =
            glow_chances(channel, |band| chances.reaches_under(band, (value, 0.0), shared));
        Some(said_of(*glow, chances.reported([dark + dim, 0.0, lit])))
    }

    /// What anything at all would make of it: the share of all that could be seen.
    pub(super) fn chance_of_anything(&self) -> f64 {
        match self {
            Self::Glow { glow, .. } => {
                let several = (glow.at_most as i32 - glow.at_least as i32 + 1).max(1);
                f64::from(several) / 3.0
            }
            Self::Figure { amount, .. } => {
                let (low, high) = amount.bounds();
                ((high.min(ANYTHING_VOLT) - low).max(0.0) + 1.0).min(ANYTHING_VOLT) / ANYTHING_VOLT
            }
            Self::Step { .. } => 0.25,
            Self::Alarm { .. } => 0.5,
            Self::Load { .. } => 0.25,
            Self::Protection { .. } => 0.3,
        }
    }
}

/// What a figure is off by below and above what a row has there.
fn figure_spreads(
    chances: &Chances,
    channel: &Channel,
    (row, raw): (&Row, f64),
    amount: Amount,
) -> (f64, f64) {
    // What floats lies between what is held, and never far above it.
    let floats = amount.bounds().0 <= chances.highest(raw);
    let gives_way = if floats { channel.gives_way(raw, row) } else { 0.0 };
    let spread = chances.spread(channel, raw, gives_way);
    (chances.spread_below(channel, raw, spread), spread)
}

/// The chance of what is said of an indicator.
fn said_of(glow: Glow, reported: [f64; 3]) -> f64 {
    let all = [Brightness::Dark, Brightness::Dim, Brightness::Lit];
    let said = all
        .iter()
        .zip(reported)
        .filter(|(brightness, _)| glow.at_least <= **brightness && **brightness <= glow.at_most);
    said.map(|(_, chance)| chance).sum::<f64>().min(1.0)
}

/// A ground that floats leaves two indicators in series on one voltage, and so many testers do not glow at half
/// of theirs, or are read in daylight: both are dark then (judgement).
pub(super) const FAINT_IS_DARK: f64 = 0.2;

/// Something that nobody mentioned is left plugged in beyond this often where ohms are measured,
/// and may have any resistance between these, a cold lamp's the least: judgement.
const LEFT_PLUGGED_IN: f64 = 0.1;
const LEFT_OHM: (f64, f64) = (1.0, 3e3);

/// A probe that makes no contact, or a finger across both: so often the figure is of neither, and
/// over range in so many of those, else anything between these: judgement.
const ILL_HELD: f64 = 0.02;
const NO_CONTACT: f64 = 0.75;
const ILL_HELD_OHM: (f64, f64) = (0.05, 3e6);

/// The chance of ohms within bounds where those would be so likely if nothing but what is known were
/// there, and `value` is what that has.
fn ohms(plain: f64, (low, high): (f64, f64), value: f64, across_loads: bool) -> f64 {
    // Alike likely in every decade.
    let share = |(least, most): (f64, f64), high: f64| {
        let inside = high.clamp(least, most) / low.clamp(least, most);
        inside.ln().max(0.0) / (most / least).ln()
    };
    let left = if across_loads { LEFT_PLUGGED_IN } else { 0.0 };
    let read = (1.0 - left) * plain + left * share(LEFT_OHM, high.min(value));
    let ill_held = match high > OVER_RANGE_OHM {
        true => NO_CONTACT,
        false => (1.0 - NO_CONTACT) * share(ILL_HELD_OHM, high),
    };
    (1.0 - ILL_HELD) * read + ILL_HELD * ill_held
}

/// A figure read off an ohmmeter that is so much off, within what tells it from its neighbours.
fn ohm_bounds(amount: Amount, off_ohm: f64) -> (f64, f64) {
    let Amount::Exactly(ohm) = amount else { return amount.bounds() };
    let near = (NEAR * off_ohm).max(NEAR_SHARE * ohm);
    ((ohm - near).max(0.0), ohm + near)
}

/// Figures within such a share of what one is off are taken as one, or of what it is.
const NEAR: f64 = 0.3;
const NEAR_SHARE: f64 = 0.01;

/// Above this every ohmmeter is over its range.
const OVER_RANGE_OHM: f64 = 1e8;

/// A continuity tester sounds below about this.
const SOUNDS_OHM: f64 = 100.0;

/// A figure that nothing explains lies below this.
const ANYTHING_VOLT: f64 = 150.0;

/// The chances of dark, dim and lit.
pub(super) fn glow_chances(channel: &Channel, reaches: impl Fn(Band) -> f64) -> [f64; 3] {
    let Measure::Indicator { dim, lit, .. } = &channel.measure else { return [1.0, 0.0, 0.0] };
    let glows = reaches(*dim);
    let full = reaches(*lit).min(glows);
    [1.0 - glows, glows - full, full]
}

/// The chance that a breaker is found off: some that have tripped look the same.
fn found_off(row: &Row, name: &str) -> f64 {
    let among = |names: &[String]| names.iter().any(|known| known == name);
    match () {
        () if among(&row.off) => 1.0,
        () if among(&row.tripped) => TRIPPED_LOOKS_OFF,
        () => SWITCHED_SINCE,
    }
}

/// Judgement: so many tripped handles look off, and so often somebody has switched one off since.
const TRIPPED_LOOKS_OFF: f64 = 0.1;
const SWITCHED_SINCE: f64 = 1e-4;

fn protection(row: &Row, name: &str, did: Protected) -> f64 {
    // Whoever looks at a handle sees that it is off.
    if row.off.iter().any(|known| known == name) {
        return 0.0;
    }
    let at_once = row.tripped.iter().any(|known| known == name);
    match (did, at_once) {
        (Protected::Holds, false) | (Protected::TripsAtOnce | Protected::WontReset, true) => 1.0,
        (Protected::TripsLater, false) => TRIPS_LATER,
        (Protected::TripsLater, true) => 0.1,
        _ => 0.0,
    }
}

/// The chance that a worn-out device is seen to do this: it has let go, and mostly does so again:
/// judgement.
pub(super) const fn worn_out(did: Protected) -> f64 {
    match did {
        Protected::FoundOff | Protected::TripsAtOnce => 0.5,
        Protected::WontReset => 1.0,
        Protected::TripsLater => 0.3,
        Protected::Holds => 0.05,
    }
}

/// Of conditions in which nothing trips at once, so many trip after a while: judgement.
const TRIPS_LATER: f64 = 0.05;

/// The chance that a load which gets this share of its voltage is seen to do this.
fn load_chance(seen: LoadSeen, kind: LoadKind, share: f64) -> f64 {
    let over = |edge: f64, width: f64| logistic((share - edge) / width);
    let well = over(0.85, 0.03);
    let hard = over(1.12, 0.02).min(well);
    let dead = does_not_run(kind, share);
    match seen {
        LoadSeen::Dead => dead,
        LoadSeen::Weak => (1.0 - dead) * (1.0 - well),
        LoadSeen::Runs => (1.0 - dead) * (well - hard),
        LoadSeen::TooBright => (1.0 - dead) * hard,
        LoadSeen::NotSure => 1.0,
    }
}

/// The chance that a load that gets this share of its voltage does not run at all: a motor does not
/// start on too little, electronics drop out, and of what got far too much some is destroyed.
/// Judgement.
pub(super) fn does_not_run(kind: LoadKind, share: f64) -> f64 {
    let nearly_none = logistic((0.3 - share) / 0.06);
    let too_little = |half_at: f64| 0.6 * logistic((half_at - share) / 0.06);
    let destroyed = || 0.3 * logistic((share - 1.4) / 0.1);
    let otherwise = match kind {
        LoadKind::Motor { .. } => too_little(0.75).max(destroyed()),
        LoadKind::ConstantPower { .. } => too_little(0.6).max(destroyed()),
        LoadKind::Filament { .. } => destroyed(),
        _ => 0.0,
    };
    nearly_none.max(otherwise)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Impedance;

    #[test]
    fn a_load_does_one_of_the_things_it_can_do() {
        let (running, locked_rotor) = (Impedance::new(30.0, 20.0), Impedance::new(4.0, 5.0));
        let kinds = [
            LoadKind::Motor { running, locked_rotor },
            LoadKind::ConstantPower { active_watt: 9.0, reactive_var: 0.0, cut_out_volt: 60.0 },
            LoadKind::Filament {
                rated_watt: 60.0,
                rated_volt: 120.0,
                cold_fraction: 0.1,
                exponent: 1.6,
            },
            LoadKind::Resistive { rated_watt: 900.0, rated_volt: 120.0 },
        ];
        let all = [LoadSeen::Dead, LoadSeen::Weak, LoadSeen::Runs, LoadSeen::TooBright];
        for kind in kinds {
            for share in (0..200).map(|at| f64::from(at) * 0.01) {
                let sum: f64 = all.iter().map(|&seen| load_chance(seen, kind, share)).sum();
                assert!((sum - 1.0).abs() < 1e-12, "{kind:?} at {share}: {sum}");
            }
        }
    }
}
