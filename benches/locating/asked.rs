//! What is asked for on the command line.

use crate::after::Round;
use crate::hidden::Level;
use crate::policy::Policy;

/// Everything that can be asked for, with what is taken if it is not.
#[derive(Clone, Debug)]
pub(crate) struct Asked {
    /// Numbers of boxes.
    pub(crate) boxes: Vec<usize>,
    /// Levels of mismatch.
    pub(crate) levels: Vec<Level>,
    /// Policies with their names.
    pub(crate) policies: Vec<(Policy, &'static str)>,
    /// Scenarios in each cell.
    pub(crate) scenarios: usize,
    /// Circuits that they are drawn on.
    pub(crate) circuits: usize,
    /// The seed.
    pub(crate) seed: u64,
    /// Share of scenarios whose trouble is of the odd kinds: in no list, or a joint that comes and goes.
    pub(crate) unlisted: f64,
    /// Share of scenarios in which nothing is wrong.
    pub(crate) sound: f64,
    /// Misreads as a multiple of the usual.
    pub(crate) misread_times: f64,
    /// What every receptacle is read with after a repair.
    pub(crate) round: Round,
    /// Each case is told in full.
    pub(crate) tells: bool,
    /// The twelve call-outs and nothing else.
    pub(crate) call_outs: bool,
    /// Only the small fixed part.
    pub(crate) is_test: bool,
}

impl Default for Asked {
    fn default() -> Self {
        Self {
            boxes: vec![8],
            levels: vec![Level::Full],
            policies: vec![Policy::ALL[0]],
            scenarios: 100,
            circuits: 5,
            seed: 1,
            unlisted: 0.08,
            sound: 0.03,
            misread_times: 1.0,
            round: Round::Tester,
            tells: false,
            call_outs: false,
            is_test: false,
        }
    }
}

impl Asked {
    /// From the arguments of the program; leaves with a message if it does not understand them.
    pub(crate) fn from_arguments() -> Self {
        let mut asked = Self::default();
        let mut arguments = std::env::args().skip(1);
        while let Some(name) = arguments.next() {
            let mut value = || arguments.next().unwrap_or_else(|| wrong(&name));
            match name.as_str() {
                "--tell" => asked.tells = true,
                "--call-outs" => asked.call_outs = true,
                "--test" => asked.is_test = true,
                // Cargo says this to every bench.
                "--bench" => {}
                "--boxes" => asked.boxes = each(&value(), |word| word.parse().ok()),
                "--levels" => {
                    let level = |word: &str| Level::ALL.into_iter().find(|l| l.word() == word);
                    asked.levels = each(&value(), level);
                }
                "--policies" => {
                    let policy =
                        |word: &str| Policy::ALL.into_iter().find(|(_, name)| *name == word);
                    asked.policies = each(&value(), policy);
                }
                "--scenarios" => asked.scenarios = number(&value()),
                "--circuits" => asked.circuits = number(&value()),
                "--seed" => asked.seed = number(&value()),
                "--unlisted" => asked.unlisted = number(&value()),
                "--sound" => asked.sound = number(&value()),
                "--round" => {
                    let round = |word: &str| Round::ALL.into_iter().find(|(_, name)| *name == word);
                    let word = value();
                    asked.round = round(&word).unwrap_or_else(|| wrong(&word)).0;
                }
                "--misreads" => asked.misread_times = number(&value()),
                _ => wrong(&name),
            }
        }
        asked
    }
}

fn number<N: std::str::FromStr>(word: &str) -> N {
    word.parse().unwrap_or_else(|_| wrong(word))
}

fn each<T>(words: &str, read: impl Fn(&str) -> Option<T>) -> Vec<T> {
    words.split(',').map(|word| read(word).unwrap_or_else(|| wrong(word))).collect()
}

fn wrong<T>(word: &str) -> T {
    eprintln!("`{word}`: see the head of benches/locating.rs for what can be asked");
    std::process::exit(2)
}
