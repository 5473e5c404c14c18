//! What a live drill says back.

use crate::circuit::Vocabulary;
use crate::drill::live::{Answer, DEAD_BELOW_VOLT, Live, Score, UnsafeAct, Verdict};
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
  open PLACE                     6 min  look at every joint in a box: dead, proven
  name neutral open at PLACE, line side
                                        say what is wrong; a wrong name costs a box
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
        Answer::Set { tripped } if tripped.is_empty() => "Done.\n".to_owned(),
        Answer::Set { tripped } => wrapped("", &format!("Done; {} trips.", tripped.join(", "))),
        Answer::Proved { place, volt } if *volt < DEAD_BELOW_VOLT => wrapped(
            "",
            &format!(
                "{place} is dead: nothing on any conductor there, and the instrument showed the \
                 known live source before and after."
            ),
        ),
        Answer::Proved { place, volt } => {
            wrapped("", &format!("{place} is live: {volt} V to earth. Do not open it."))
        }
        Answer::Opened { place, found, warning } => {
            opened(place, found, warning.as_ref(), emphasis)
        }
        Answer::Stopped(unsafe_act) => pointed_out(unsafe_act, emphasis),
        Answer::Named(verdict) => wrapped("", &judged(verdict)),
        Answer::Ended => "It is over.\n".to_owned(),
    }
}

fn opened(
    place: &str,
    found: &[String],
    warning: Option<&UnsafeAct>,
    emphasis: Emphasis,
) -> String {
    let mut text = warning.map_or_else(String::new, |warning| pointed_out(warning, emphasis));
    if found.is_empty() {
        let said = format!("Every joint in {place} is tight and as it should be.");
        text.push_str(&wrapped("", &said));
    }
    for one in found {
        text.push_str(&wrapped("", &format!("In {place} you find: {one}.")));
    }
    text
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
    };
    let Emphasis { alarm, off, .. } = emphasis;
    wrapped("UNSAFE  ", &said).replacen("UNSAFE", &format!("{alarm}UNSAFE{off}"), 1)
}

fn judged(verdict: &Verdict) -> String {
    match verdict {
        Verdict::Right { left: 0, .. } => "Right: that is what is wrong.".to_owned(),
        Verdict::Right { left, .. } => {
            format!("Right, and not all: {left} more to be found.")
        }
        Verdict::Alike => "Taken as right: no instrument at any receptacle can tell it from what \
                           is wrong. The key says what it was."
            .to_owned(),
        Verdict::RightPlace => "The box and the conductor are right, and that is not what is \
                                wrong there."
            .to_owned(),
        Verdict::RightConductor => "The conductor is right, and the place is not.".to_owned(),
        Verdict::Wrong => "That is not it. The box was opened in vain.".to_owned(),
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
///     wrong_names: 0,
///     unsafe_acts: vec![],
/// };
/// assert!(live_score(&score).contains("75 points"));
/// ```
pub fn live_score(score: &Score) -> String {
    let found = if score.solved { "Found" } else { "Not found" };
    let mut said = format!("{found} in {} minutes", score.minutes);
    if let Some(best) = score.strategy_minutes {
        said.push_str(&format!("; the computed strategy takes {best}"));
    }
    said.push_str(&format!(
        ". Wrong names: {}. Unsafe acts: {}. {} points of 100.",
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
