//! What may be so besides what was put right. What that was is known by then and takes none of the
//! places of what is tried together: what else may be so is tried beside it.

use std::collections::BTreeSet;

use super::asking::Asking;
use super::belief::Hypothesis;
use super::model::Set;

/// Ways that are followed in which what was found and put right may have been so.
const WAYS: usize = 4;

/// A way that much less likely than the likeliest is left.
const WAY_LN: f64 = -3.0;

/// So many things are put right at once at most that show together.
const AT_ONCE: usize = 3;

impl Asking<'_, '_> {
    /// What was put right, in the likeliest ways that are left open by what was found and seen; none
    /// where nothing was, or nothing that did anything.
    pub(super) fn put_right(&mut self) -> Vec<(Set, Hypothesis)> {
        let sound = self.ask(Set::SOUND).map(|sound| (Set::SOUND, sound));
        let mut ways: Vec<(Set, Hypothesis)> = sound.into_iter().collect();
        for ended in self.closed.repairs(self.evidence) {
            let classes: Vec<usize> = self.classes_led_by(&ended);
            for _ in 0..AT_ONCE {
                let known: BTreeSet<Set> = ways.iter().map(|(set, _)| *set).collect();
                let wider: BTreeSet<Set> = ways
                    .iter()
                    .flat_map(|(set, _)| classes.iter().map(|&class| (*set, class)))
                    .filter(|&(set, class)| self.fits_beside(set, class))
                    .map(|(set, class)| set.with(class))
                    .filter(|set| !known.contains(set))
                    .collect();
                for set in wider {
                    ways.extend(self.ask(set).map(|way| (set, way)));
                }
                ways.sort_by(|x, y| y.1.ln.total_cmp(&x.1.ln).then(x.0.cmp(&y.0)));
                let is_any_new = ways.iter().take(WAYS).any(|(set, _)| !known.contains(set));
                ways.truncate(WAYS);
                if !is_any_new {
                    break;
                }
            }
        }
        let best = ways.first().map_or(f64::INFINITY, |(_, way)| way.ln);
        ways.retain(|(set, way)| *set != Set::SOUND && way.ln > best + WAY_LN);
        ways
    }

    /// The classes of a set that were put right.
    pub(super) fn put_right_of(&self, set: Set) -> Set {
        let mended = self.closed.mended();
        let is_mended = |class: &usize| {
            self.classes.get(*class).is_some_and(|class| mended.contains(&class.lead))
        };
        Set::of(&set.iter().filter(is_mended).collect::<Vec<usize>>())
    }

    fn classes_led_by(&self, possibles: &BTreeSet<usize>) -> Vec<usize> {
        let all = self.classes.iter().enumerate();
        all.filter(|(_, class)| possibles.contains(&class.lead)).map(|(at, _)| at).collect()
    }

    /// Whether one more may be so together with a set, as far as there is room.
    pub(super) fn fits_beside(&self, set: Set, class: usize) -> bool {
        let Some(new) = self.classes.get(class) else { return false };
        let mut others = set.iter().filter_map(|one| self.classes.get(one));
        set.len() < Set::ROOM && !set.contains(class) && others.all(|one| self.together(one, new))
    }
}
