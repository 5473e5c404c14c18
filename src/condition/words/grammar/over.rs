//! What of a sentence no part of its meaning took up.

use std::ops::Range;

use super::super::problem::Problem;
use super::super::sentence::{JointState, Link, Sentence, Spot};
use super::reading::Reading;

impl Reading<'_> {
    /// Something was said that such a sentence has no room for.
    pub(super) fn over(&self, sentence: &Sentence) -> Option<Problem> {
        let span = self.amount_over(sentence).or_else(|| match sentence {
            Sentence::Set { .. } => self.over_in_setting(),
            Sentence::AllLoads { .. } => {
                self.said.spots.iter().find(|spot| spot.name.is_some()).map(whole)
            }
            Sentence::Joint { .. } => self.said.spots.iter().find(|spot| spot.soil).map(whole),
            _ => None,
        })?;
        let message = format!("`{}` has no part in this sentence", self.written(&span));
        Some(self.problem(&span, message).expected(["`;` and a sentence of its own"]))
    }

    /// An amount, a name given or `all`, where none is wanted.
    fn amount_over(&self, sentence: &Sentence) -> Option<Range<usize>> {
        use Sentence as S;
        let said = &self.said;
        let bridge = matches!(sentence, S::Bridged { .. } | S::Bootleg { .. } | S::Attached { .. });
        let ohm = bridge || matches!(sentence, S::Joint { state: JointState::Ohm(_), .. });
        let along = matches!(sentence, S::Joint { .. } | S::Bridged { .. } | S::Supply { .. });
        let unless = |taken: bool, span: Option<Range<usize>>| span.filter(|_| !taken);
        unless(ohm, said.ohm.as_ref().map(|said| said.span.clone()))
            .or_else(|| {
                let farad = said.farad.as_ref().map(|said| said.span.clone());
                unless(matches!(sentence, S::Attached { .. }), farad)
            })
            .or_else(|| {
                let volt = said.volts.first().map(|said| said.span.clone());
                unless(matches!(sentence, S::Supply { .. }), volt)
            })
            .or_else(|| unless(bridge, said.called.as_ref().map(|said| said.span.clone())))
            .or_else(|| {
                unless(
                    matches!(sentence, S::AllLoads { .. }),
                    said.all.as_ref().map(|all| all.span.clone()),
                )
            })
            .or_else(|| {
                let mut spots = said.spots.iter();
                let share = spots.find_map(|spot| spot.along.as_ref());
                unless(along, share.map(|said| said.span.clone()))
            })
    }

    /// What is set has a name and the word for its kind, and others follow by `and`.
    fn over_in_setting(&self) -> Option<Range<usize>> {
        let spots = self.said.spots.iter().enumerate();
        spots
            .map(|(at, spot)| {
                let after = spot.after.as_ref().filter(|_| at > 0);
                let listed = at == 0 || spot.is_after(Link::And);
                let Spot { name, class, span, after: parted, .. } = spot.clone();
                let plain = Spot { name, class, span, after: parted, ..Spot::default() };
                let start = after.map_or(spot.span.start, |after| after.span.start);
                (spot.name.is_some() && listed && plain == *spot, start..spot.span.end)
            })
            .find_map(|(is_set, span)| (!is_set).then_some(span))
    }
}

fn whole(spot: &Spot) -> Range<usize> {
    spot.span.clone()
}
