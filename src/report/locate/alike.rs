//! Outcomes of a test that mean the same, told as one: nobody reads six bands of volts that lead to one place.

use crate::diagnosis::{Amount, Branch, Showed};
use crate::instrument::{Brightness, Glow};

/// A leading suspect that is this much likelier after one outcome than after another does not mean the same.
const MEANS_OTHERWISE: f64 = 0.15;

/// The outcomes in order, those that mean the same put together where what they show together takes in no
/// outcome of another meaning.
pub(super) fn told_together(outcomes: &[Branch]) -> Vec<Branch> {
    let mut all: Vec<Branch> = outcomes.to_vec();
    while let Some((at, with, hull)) = next_together(&all) {
        let other = all.remove(with);
        if let Some(one) = all.get_mut(at) {
            *one = together(one, &other, hull);
        }
    }
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    all
}

fn next_together(all: &[Branch]) -> Option<(usize, usize, Shows)> {
    let pairs = (0..all.len()).flat_map(|at| (at + 1..all.len()).map(move |with| (at, with)));
    pairs.filter_map(|(at, with)| Some((at, with, joined(all, (at, with))?))).next()
}

/// What is shown, for each look.
type Shows = Vec<Vec<Showed>>;

/// What two outcomes show together, if they mean the same and nothing of another meaning shows that too.
fn joined(all: &[Branch], (at, with): (usize, usize)) -> Option<Shows> {
    let (one, other) = (all.get(at)?, all.get(with)?);
    if !mean_the_same(one, other) {
        return None;
    }
    let hull = hull(&one.shows, &other.shows)?;
    let mut others = all.iter().enumerate().filter(|(n, _)| *n != at && *n != with);
    let taken_in =
        |(_, third): (usize, &Branch)| !mean_the_same(one, third) && meet(&hull, &third.shows);
    (!others.any(taken_in)).then_some(hull)
}

fn mean_the_same(one: &Branch, other: &Branch) -> bool {
    let is_near = match (one.leading, other.leading) {
        (Some((a, likely)), Some((b, as_likely))) => {
            a == b && (likely - as_likely).abs() <= MEANS_OTHERWISE
        }
        (None, None) => true,
        _ => false,
    };
    is_near && !one.is_seen && !other.is_seen && one.boxes == other.boxes
}

fn together(one: &Branch, other: &Branch, shows: Shows) -> Branch {
    let probability = one.probability + other.probability;
    let leading = one.leading.zip(other.leading).map(|((suspect, likely), (_, as_likely))| {
        let both = one.probability * likely + other.probability * as_likely;
        (suspect, both / probability)
    });
    Branch { shows, probability, leading, ..one.clone() }
}

fn hull(one: &[Vec<Showed>], other: &[Vec<Showed>]) -> Option<Shows> {
    let look = |(one, other): (&Vec<Showed>, &Vec<Showed>)| {
        let each = one.iter().zip(other).map(|(one, other)| around(one, other));
        (one.len() == other.len()).then(|| each.collect::<Option<Vec<Showed>>>()).flatten()
    };
    if one.len() != other.len() {
        return None;
    }
    one.iter().zip(other).map(look).collect()
}

/// The least that takes both in; `None` where nothing does.
fn around(one: &Showed, other: &Showed) -> Option<Showed> {
    let glow = |a: &Glow, b: &Glow| Glow {
        at_least: a.at_least.min(b.at_least),
        at_most: a.at_most.max(b.at_most),
    };
    Some(match (one, other) {
        (one, other) if one == other => one.clone(),
        (Showed::Indicator { between, glow: a }, Showed::Indicator { between: of, glow: b })
            if between == of =>
        {
            Showed::Indicator { between: between.clone(), glow: glow(a, b) }
        }
        (Showed::Volt(a), Showed::Volt(b)) => Showed::Volt(amount(a, b)),
        (Showed::LostVolt(a), Showed::LostVolt(b)) => Showed::LostVolt(amount(a, b)),
        (Showed::Ampere(a), Showed::Ampere(b)) => Showed::Ampere(amount(a, b)),
        (Showed::Ohm(a), Showed::Ohm(b)) => Showed::Ohm(amount(a, b)),
        (
            Showed::LostAlong { conductor, volt: a },
            Showed::LostAlong { conductor: along, volt: b },
        ) if conductor == along => {
            Showed::LostAlong { conductor: conductor.clone(), volt: amount(a, b) }
        }
        _ => return None,
    })
}

fn amount(one: &Amount, other: &Amount) -> Amount {
    let ((low, high), (least, most)) = (one.bounds(), other.bounds());
    match (low.min(least), high.max(most)) {
        (low, high) if low <= 0.0 => Amount::Under(high),
        (low, f64::INFINITY) => Amount::Over(low),
        (low, high) => Amount::Between { low, high },
    }
}

/// Whether something can be shown that is both.
fn meet(one: &[Vec<Showed>], other: &[Vec<Showed>]) -> bool {
    let mut both = one.iter().flatten().zip(other.iter().flatten());
    both.all(|(one, other)| match (one, other) {
        (Showed::Indicator { glow: a, .. }, Showed::Indicator { glow: b, .. }) => {
            a.at_least <= b.at_most && b.at_least <= a.at_most
        }
        (Showed::Volt(a), Showed::Volt(b))
        | (Showed::LostVolt(a), Showed::LostVolt(b))
        | (Showed::Ampere(a), Showed::Ampere(b))
        | (Showed::Ohm(a), Showed::Ohm(b))
        | (Showed::LostAlong { volt: a, .. }, Showed::LostAlong { volt: b, .. }) => {
            let ((low, high), (least, most)) = (a.bounds(), b.bounds());
            low < most && least < high
        }
        (one, other) => one == other,
    })
}

/// Whether it is no more than that something was looked at.
pub(super) fn says_nothing(showed: &Showed) -> bool {
    match showed {
        Showed::Volt(amount)
        | Showed::LostVolt(amount)
        | Showed::Ampere(amount)
        | Showed::Ohm(amount)
        | Showed::LostAlong { volt: amount, .. } => amount.bounds() == (0.0, f64::INFINITY),
        Showed::Indicator { glow, .. } => {
            glow.at_least == Brightness::Dark && glow.at_most == Brightness::Lit
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn volts(low: f64, high: f64) -> Showed {
        Showed::LostVolt(Amount::Between { low, high })
    }

    fn branch(showed: &[Showed], probability: f64, leading: (usize, f64)) -> Branch {
        Branch {
            shows: vec![showed.to_vec()],
            is_seen: false,
            boxes: Vec::new(),
            probability,
            leading: Some(leading),
        }
    }

    #[test]
    fn bands_of_volts_that_lead_to_one_suspect_are_one_outcome() {
        let outcomes = [
            branch(&[Showed::LostVolt(Amount::Under(3.0))], 0.3, (0, 0.4)),
            branch(&[volts(3.0, 6.0)], 0.5, (0, 0.48)),
            branch(&[Showed::LostVolt(Amount::Over(6.0))], 0.2, (1, 0.9)),
        ];
        let told = told_together(&outcomes);
        assert_eq!(told.len(), 2, "{told:?}");
        assert_eq!(told[0].shows, [[Showed::LostVolt(Amount::Under(6.0))]]);
        let (suspect, likely) = told[0].leading.unwrap();
        assert!((told[0].probability - 0.8).abs() < 1e-12);
        assert!(suspect == 0 && (likely - 0.45).abs() < 1e-12, "{likely}");
    }

    #[test]
    fn what_lies_between_and_means_something_else_keeps_them_apart() {
        let outcomes = [
            branch(&[volts(1.0, 2.0)], 0.4, (0, 0.8)),
            branch(&[volts(2.0, 4.0)], 0.3, (1, 0.8)),
            branch(&[volts(4.0, 5.0)], 0.3, (0, 0.8)),
        ];
        assert_eq!(told_together(&outcomes), outcomes);
    }

    #[test]
    fn one_suspect_at_much_other_odds_is_another_meaning() {
        let outcomes =
            [branch(&[volts(1.0, 2.0)], 0.6, (0, 0.9)), branch(&[volts(2.0, 3.0)], 0.4, (0, 0.3))];
        assert_eq!(told_together(&outcomes), outcomes);
    }

    #[test]
    fn an_indicator_that_may_be_dim_or_lit_is_told_as_not_dark() {
        let glow = |brightness| Showed::Indicator {
            between: ("hot".into(), "neutral".into()),
            glow: Glow::certain(brightness),
        };
        let of = |brightness, probability| branch(&[glow(brightness)], probability, (0, 0.5));
        let told = told_together(&[of(Brightness::Lit, 0.6), of(Brightness::Dim, 0.4)]);
        let [Showed::Indicator { glow, .. }] = told[0].shows[0].as_slice() else {
            panic!("{told:?}")
        };
        assert_eq!((glow.at_least, glow.at_most), (Brightness::Dim, Brightness::Lit));
    }

    #[test]
    fn what_is_seen_in_an_open_box_stands_by_itself() {
        let seen = Branch { is_seen: true, ..branch(&[volts(1.0, 2.0)], 0.5, (0, 0.9)) };
        let outcomes = [seen, branch(&[volts(1.0, 2.0)], 0.5, (0, 0.9))];
        assert_eq!(told_together(&outcomes), outcomes);
    }
}
