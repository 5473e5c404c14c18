//! What a live drill says back.

use crate::circuit::Vocabulary;
use crate::drill::live::{Answer, DEAD_BELOW_VOLT, Live, Looked, Score, UnsafeAct, Verdict};
use crate::report::drill::lines_of;

use super::Emphasis;
use super::drill::reading_lines;
use super::layout::wrapped;

/// What can be typed in a live drill.
pub const LIVE_HELP: &str = "
  read tester at PLACE            20 s  also voltmeter, non-contact, loaded-test
  heater off; heater unplugged    10 s  and every other setting of a load or switch
  breaker c1 off                 1 min
  prove PLACE                    1 min  a rated instrument on every conductor,
                                        checked on a known live source before and
                                        after
  open PLACE                     5 min  look at every joint in a box: dead, proven
  name neutral open at PLACE, line side
                                        say what is wrong; what has to be opened or
                                        looked at for it is paid for, right or wrong
  sheet                                 what is known, once more
  time                                  minutes so far
  give up
";

/// An answer in lines of at most 80 columns.
///
/// ```
/// use slotwise::circuit::Vocabulary;
/// use slotwise::drill::live::{Answer, UnsafeAct};
/// use slotwise::report::text::{Emphasis, live_answer};
/// let live = UnsafeAct::OpenedLive { place: "kiln".into(), volt: 120.0 };
/// let said = live_answer(&Answer::Stopped(live), Vocabulary::NorthAmerican, Emphasis::PLAIN);
/// assert!(said.starts_with("UNSAFE") && said.contains("120 V"));
/// ```
pub fn live_answer(answer: &Answer, vocabulary: Vocabulary, emphasis: Emphasis) -> String {
    match answer {
        Answer::Read { readings } => reading_lines(&lines_of(readings, vocabulary)),
        Answer::Set { tripped, warnings } => {
            let mut text = all_pointed_out(warnings, emphasis);
            text.push_str(&match tripped.as_slice() {
                [] => "Done.\n".to_owned(),
                tripped => wrapped("", &format!("Done; {} trips.", tripped.join(", "))),
            });
            text
        }
        Answer::Proved { place, volt, .. } if *volt >= DEAD_BELOW_VOLT => {
            wrapped("", &format!("{place} is live: {volt} V to earth. Do not open it."))
        }
        Answer::Proved { place, not_off, .. } if not_off.is_empty() => wrapped(
            "",
            &format!(
                "{place} is dead: nothing on any conductor there, and the instrument showed the \
                 known live source before and after."
            ),
        ),
        Answer::Proved { place, not_off, .. } => wrapped(
            "",
            &format!(
                "Nothing is live in {place} now, and that proves nothing: {}. Switch off what may \
                 feed it, and prove it then.",
                nobody_switched_off(not_off)
            ),
        ),
        Answer::Opened { place, found, warning } => {
            opened(place, found, warning.as_slice(), emphasis)
        }
        Answer::Stopped(unsafe_act) => pointed_out(unsafe_act, emphasis),
        Answer::Named { verdict, in_vain, untested } => {
            let judged = judged(verdict, *in_vain);
            wrapped("", &format!("{judged}{}", guessed(*untested)))
        }
        Answer::Ended => "It is over.\n".to_owned(),
    }
}

fn opened(place: &str, found: &[String], warnings: &[UnsafeAct], emphasis: Emphasis) -> String {
    let mut text = all_pointed_out(warnings, emphasis);
    if found.is_empty() {
        let said = format!("Every joint in {place} is tight and as it should be.");
        text.push_str(&wrapped("", &said));
    }
    for one in found {
        text.push_str(&wrapped("", &format!("In {place} you find: {one}.")));
    }
    text
}

fn nobody_switched_off(breakers: &[String]) -> String {
    match breakers {
        [only] => format!("nobody has switched {only} off"),
        several => format!("nobody has switched off {}", several.join(", ")),
    }
}

fn all_pointed_out(unsafe_acts: &[UnsafeAct], emphasis: Emphasis) -> String {
    unsafe_acts.iter().map(|one| pointed_out(one, emphasis)).collect()
}

fn pointed_out(unsafe_act: &UnsafeAct, emphasis: Emphasis) -> String {
    let said = match unsafe_act {
        UnsafeAct::OpenedLive { place, volt } => format!(
            "You were about to open {place} with {volt} V in it. It stays closed. Switch the \
             circuit off, and prove the box dead before you open it. This costs fifteen minutes."
        ),
        UnsafeAct::NotProven { place, after_one_instrument: true } => format!(
            "{place} was dead, but you trusted one instrument. One that shows nothing may be \
             broken, or its lamps may be across two live contacts. Prove a box dead with a rated \
             instrument, checked on a known live source before and after."
        ),
        UnsafeAct::NotProven { place, .. } => format!(
            "{place} was dead, but you did not know it: a breaker that is off may be the wrong \
             one. Prove a box dead with a rated instrument, checked on a known live source before \
             and after."
        ),
        UnsafeAct::NotSwitchedOff { place, breakers } => format!(
            "{place} was dead, but {}: a wall switch isolates nothing, and what has tripped is \
             closed by whoever passes it. Switch the breakers off and keep them off.",
            nobody_switched_off(breakers)
        ),
        UnsafeAct::HandledLive { load, volt } => format!(
            "You had your hand on {load} with {volt} V on its case or on the metal next to it. \
             Where a case may be live, switch the breaker off first and read again after."
        ),
        UnsafeAct::ClosedAgain { breaker } => format!(
            "You closed {breaker} onto what it had tripped from. Once is a test; again heats the \
             short and wears the breaker until it may not open. Leave it off until something has \
             been changed."
        ),
    };
    let Emphasis { alarm, off, .. } = emphasis;
    wrapped("UNSAFE  ", &said).replacen("UNSAFE", &format!("{alarm}UNSAFE{off}"), 1)
}

fn judged(verdict: &Verdict, in_vain: Option<Looked>) -> String {
    let taken = "Taken as right: no instrument at any receptacle can tell it from what is wrong. \
                 The key says what it was.";
    match verdict {
        Verdict::Right { left: 0, .. } => "Right: that is what is wrong.".to_owned(),
        Verdict::Right { left, .. } => format!("Right, and mended. {}", more(*left)),
        Verdict::Alike { left: 0, .. } => taken.to_owned(),
        Verdict::Alike { left, .. } => format!("{taken} It is mended. {}", more(*left)),
        Verdict::Mended { left } => {
            format!("That is mended already, and counts once. {}", more(*left))
        }
        Verdict::OtherKind => "The place is right, and the kind is not: open is one thing, bad is \
                               another. What do the readings under load say?"
            .to_owned(),
        Verdict::RightPlace => "The box and the conductor are right, and that is not what is \
                                wrong there."
            .to_owned(),
        Verdict::RightConductor => "The conductor is right, and the place is not.".to_owned(),
        Verdict::Wrong => format!("That is not it. {}", looked_in_vain(in_vain)),
    }
}

/// What is said of right names that nothing bears out.
const fn guessed(untested: usize) -> &'static str {
    match untested {
        0 => "",
        1 => {
            " No test of yours shows it: right, but not found out, it counts half. Measure or look \
             before you name."
        }
        _ => {
            " No test of yours shows them: right, but not found out, they count half. Measure or \
             look before you name."
        }
    }
}

fn more(left: usize) -> String {
    format!("Not all: {left} more to be found. Read again: what was hidden may show now.")
}

const fn looked_in_vain(looked: Option<Looked>) -> &'static str {
    match looked {
        Some(Looked::Supply) => "What arrives was measured in vain; no box was opened for it.",
        Some(Looked::Appliance) => "The appliance was unplugged and tested in vain.",
        Some(Looked::Handle) => "The handle was looked at in vain.",
        Some(Looked::Box) | None => "The box was opened in vain.",
    }
}

/// Minutes, points and what was unsafe.
///
/// ```
/// use slotwise::drill::live::Score;
/// use slotwise::report::text::live_score;
/// let score = Score {
///     solved: true,
///     minutes: 12.0,
///     strategy_minutes: Some(9.0),
///     faults: 1,
///     untested: 0,
///     wrong_names: 0,
///     unsafe_acts: vec![],
/// };
/// assert!(live_score(&score).contains("75 points"));
/// ```
pub fn live_score(score: &Score) -> String {
    let found = if score.solved { "Found" } else { "Not found" };
    let minutes = if (score.minutes - 1.0).abs() < 0.01 { "minute" } else { "minutes" };
    let mut said = format!("{found} in {} {minutes}", score.minutes);
    if let Some(best) = score.strategy_minutes {
        said.push_str(&format!("; the computed strategy takes {best}"));
    }
    said.push_str(&format!(
        ". Named without a test that shows it: {}. Wrong names: {}. Unsafe acts: {}. {} points of \
         100.",
        score.untested,
        score.wrong_names,
        score.unsafe_acts.len(),
        score.points()
    ));
    wrapped("", &said)
}

/// How far a live drill is, in one line.
///
/// ```
/// use slotwise::drill::live::Live;
/// use slotwise::drill::{Drill, Family, Wanted};
/// use slotwise::report::text::live_time;
/// let family = Family::read(include_str!("../../../circuits/families/workshops.ron")).unwrap();
/// let drill = Drill::draw(&family, 7, 0, &Wanted::default()).unwrap();
/// assert_eq!(live_time(&Live::new(drill).unwrap()), "0.0 minutes\n");
/// ```
pub fn live_time(live: &Live) -> String {
    format!("{:.1} minutes\n", live.score().minutes)
}

/// What the last act cost, and all so far, in one line; nothing where it cost nothing.
pub fn live_spent(live: &Live, before_s: f64) -> String {
    match live.spent_s() - before_s {
        cost if cost > 0.0 => {
            format!("  ({cost:.0} s; {:.1} minutes so far)\n", live.score().minutes)
        }
        _ => String::new(),
    }
}
