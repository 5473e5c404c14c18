//! What is said of devices, breakers and places on a walk and is nothing that was seen, answered with how to
//! say what was.

use crate::condition::words::lexicon::Class;
use crate::condition::words::speak;

use super::reader::{Heard, Reader};
use super::seen::tell_protected;

/// What is written beside a breaker, or on which it is said to act.
const LABELLED: [&str; 12] = [
    "mislabeled",
    "mislabelled",
    "labeled wrong",
    "labelled wrong",
    "labeled wrongly",
    "labelled wrongly",
    "wrongly labeled",
    "wrongly labelled",
    "not labeled",
    "not labelled",
    "actually feeds",
    "feeds",
];

/// That nobody came near it, before where it is.
const NO_ACCESS: [&str; 12] = [
    "no access to",
    "no access at",
    "no access",
    "can not get to",
    "can not get at",
    "can not reach",
    "could not get to",
    "could not get at",
    "could not reach",
    "could not access",
    "can not access",
    "unable to reach",
];

impl Reader<'_> {
    /// `hatch does not trip`: that it holds, or that its test failed.
    pub(super) fn refuse_untested(&self, name: &str) -> Heard<()> {
        let is_device = self.known.circuit.device(name).is_some();
        let mut ahead = self.clone();
        ahead.pass_marks();
        let does_not = ["does not trip", "did not trip", "will not trip", "would not trip"];
        let fails =
            ahead.takes_any(&does_not) || ahead.takes_any(&["fails to trip", "failed to trip"]);
        if !(is_device || self.senses_residual(name)) || !fails || !ahead.is_done() {
            return Ok(());
        }
        let called = tell_protected(self.known, if is_device { "" } else { "breaker " }, name);
        let message = "does it hold when it is closed, or was its button pressed in vain?";
        let button = match is_device {
            true => format!("test-button at {called}: does not trip"),
            false => "tester button at BOX: does not trip".to_owned(),
        };
        Err(self.up_to(&ahead, message).expected([format!("{called} holds"), button]))
    }

    /// `nave breaker is mislabeled`: what feeds what is no finding but the circuit file.
    pub(super) fn refuse_label(&self, name: &str) -> Heard<()> {
        let mut ahead = self.clone();
        ahead.pass_before();
        if !ahead.takes_any(&LABELLED) {
            return Ok(());
        }
        let called = tell_protected(self.known, "", name);
        let message =
            "what a breaker feeds is said in the circuit file; here, what is seen with it off";
        let forms = ["BOX still live", "BOX dead"].map(|so| format!("{so} with {called} off"));
        Err(self.up_to(&ahead, message).expected(forms))
    }

    /// `no access to organ`: nothing was seen there, and nothing will be.
    pub(super) fn refuse_no_access(&self) -> Heard<()> {
        let mut ahead = self.clone();
        ahead.takes_any(&["i", "we", "there is"]);
        if !ahead.takes_any(&NO_ACCESS) {
            return Ok(());
        }
        ahead.takes("the");
        let place = ahead.name(&[Class::Place]);
        let at = place.map_or("BOX".to_owned(), |place| speak::name(&place));
        let message = "nothing is seen there: leave it out, or say that nobody looked";
        let forms = [
            format!("tester at {at}: did not look"),
            format!("`out_of_reach: [\"{at}\"]` in an observation file"),
        ];
        Err(self.up_to(&ahead, message).expected(forms))
    }
}
