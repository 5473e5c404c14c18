//! One hidden scenario: what is really there, who measures, and what was said on the telephone.

use crate::building::Building;
use crate::caller::{self, Call, Caller};
use crate::draw;
use crate::hidden::{Hidden, Level};
use crate::person::Person;
use crate::random::Chance;

/// What the scenarios of one run have in common.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Setting {
    /// How far the circuit is from its description.
    pub(crate) level: Level,
    /// Share of scenarios whose trouble is of the odd kinds.
    pub(crate) unlisted: f64,
    /// Share of scenarios in which nothing is wrong and somebody calls all the same.
    pub(crate) sound: f64,
    /// Misreads as a multiple of the usual.
    pub(crate) misread_times: f64,
}

/// A scenario that shows a symptom.
#[derive(Clone)]
pub(crate) struct Scenario {
    /// What is really there.
    pub(crate) hidden: Hidden,
    /// Who measures.
    pub(crate) person: Person,
    /// What was said.
    pub(crate) call: Call,
}

/// Of those who call so many are customers.
const CUSTOMERS: f64 = 0.75;

/// So often is drawn anew until somebody has something to call for.
const DRAWN_MAX: usize = 2000;

impl Scenario {
    /// Draws buildings' troubles until one is noticed by the kind of caller that was drawn first;
    /// with the number of those that were not.
    pub(crate) fn draw(
        building: &Building,
        setting: Setting,
        chance: &mut Chance,
    ) -> (Option<Self>, usize) {
        let kind = chance.share();
        let customer = chance.happens(CUSTOMERS);
        let caller = if customer { Caller::Customer } else { Caller::Checker };
        if kind < setting.sound {
            let hidden = Hidden::sound(building, setting.level, chance);
            let person = Person::new(setting.level, setting.misread_times, chance);
            // An appliance of the caller's own is broken.
            let call = Call::Dead(vec![chance.below(building.boxes.len())]);
            return (Some(Self { hidden, person, call }), 0);
        }
        for unnoticed in 0..DRAWN_MAX {
            let mut hidden = Hidden::sound(building, setting.level, chance);
            let person = Person::new(setting.level, setting.misread_times, chance);
            hidden.troubles = if kind < setting.sound + setting.unlisted {
                vec![draw::unlisted(building, chance)]
            } else {
                draw::listed(building, setting.level, chance)
            };
            if let Some(call) = caller::call(caller, building, &hidden, &person, chance) {
                return (Some(Self { hidden, person, call }), unnoticed);
            }
        }
        (None, DRAWN_MAX)
    }
}
