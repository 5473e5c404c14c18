//! How well the diagnosis finds hidden faults: scenarios from a generator of its own (own solver,
//! own spreads, faults outside the list), at mismatch levels apart, beside rules of thumb with
//! the same inference and the same stop.
//!
//! ```text
//! cargo bench --bench locating -- [--boxes 4,8,16] [--levels none,lengths,loads,full]
//!     [--policies computed,one-step,half-split,weighted,walk,naive] [--scenarios 100]
//!     [--circuits 5] [--seed 1] [--unlisted 0.08] [--sound 0.03] [--misreads 1]
//!     [--round tester|loaded-test] [--tell]
//! cargo bench --bench locating -- --call-outs
//! ```
//!
//! `-- --test` runs a small fixed part and asserts what must hold of it.

#![allow(clippy::print_stdout, clippy::print_stderr, missing_docs)]

#[path = "locating/after.rs"]
mod after;
#[path = "locating/agreement.rs"]
mod agreement;
#[path = "locating/asked.rs"]
mod asked;
#[path = "locating/building.rs"]
mod building;
#[path = "locating/call_outs.rs"]
mod call_outs;
#[path = "locating/caller.rs"]
mod caller;
#[path = "locating/draw.rs"]
mod draw;
#[path = "locating/followed.rs"]
mod followed;
#[path = "locating/hidden.rs"]
mod hidden;
#[path = "locating/names.rs"]
mod names;
#[path = "locating/network.rs"]
mod network;
#[path = "locating/person.rs"]
mod person;
#[path = "locating/policy.rs"]
mod policy;
#[path = "locating/random.rs"]
mod random;
#[path = "locating/run.rs"]
mod run;
#[path = "locating/scenario.rs"]
mod scenario;
#[path = "locating/score.rs"]
mod score;
#[path = "locating/shows.rs"]
mod shows;
#[path = "../tests/call_outs/told.rs"]
mod told;
#[path = "locating/truth.rs"]
mod truth;
#[path = "locating/visit.rs"]
mod visit;
#[path = "locating/wired.rs"]
mod wired;

use asked::Asked;
use building::Building;
use hidden::Level;
use policy::Policy;
use random::Chance;
use run::Case;
use scenario::{Scenario, Setting};
use score::Tally;

fn main() {
    let asked = Asked::from_arguments();
    if asked.is_test {
        small_part();
        return;
    }
    if asked.call_outs {
        std::process::exit(i32::from(!all_call_outs_are_led_to_their_truth()));
    }
    println!(
        "seed {}, {} scenarios a cell on {} circuits, {} unlisted, {} sound, misreads x {}",
        asked.seed,
        asked.scenarios,
        asked.circuits,
        asked.unlisted,
        asked.sound,
        asked.misread_times
    );
    for &n in &asked.boxes {
        for &level in &asked.levels {
            for &(policy, name) in &asked.policies {
                let tally = cell(&asked, n, level, policy);
                println!("\n{n} boxes, mismatch {}, {name}", level.word());
                print!("{}", tally.words());
            }
        }
    }
}

/// The scenarios of one size, level and policy. Scenarios depend on seed, size and level alone:
/// every policy gets the same.
fn cell(asked: &Asked, n: usize, level: Level, policy: Policy) -> Tally {
    let mut tally = Tally::default();
    let setting = Setting {
        level,
        unlisted: asked.unlisted,
        sound: asked.sound,
        misread_times: asked.misread_times,
    };
    for which in 0..asked.circuits {
        let mut invented = Chance::new(asked.seed, (n * 1000 + which) as u64);
        let building = Building::invent(n, &mut invented);
        let circuit = building.described();
        let blank = run::blank(&circuit, policy);
        for number in (which..asked.scenarios).step_by(asked.circuits) {
            let stream = (1 << 40) + ((n as u64) << 32) + ((level as u64) << 28) + number as u64;
            let mut chance = Chance::new(asked.seed, stream);
            let (scenario, unnoticed) = Scenario::draw(&building, setting, &mut chance);
            tally.without_symptom += unnoticed;
            let Some(scenario) = scenario else { continue };
            let case = Case {
                building: &building,
                circuit: &circuit,
                blank: &blank,
                scenario: &scenario,
                policy,
                round: asked.round,
                tells: asked.tells,
            };
            case.play(&mut tally, &mut chance);
        }
    }
    tally
}

/// Prints what the inquiry makes of the call-outs, as they stand and followed to their end.
fn all_call_outs_are_led_to_their_truth() -> bool {
    let outcomes = call_outs::outcomes();
    for outcome in &outcomes {
        let call_outs::Outcome { name, rank, followed, boxes, tests, warned, doubted, words } =
            outcome;
        let said = |rank: &Option<usize>| rank.map_or_else(|| "-".to_owned(), |r| r.to_string());
        let (rank, followed, boxes) = (said(rank), said(followed), said(boxes));
        println!(
            "{name}: rank {rank}, after {tests} tests {followed}, box {boxes}; warned {warned}, \
             doubted {doubted}"
        );
        println!("  {words}");
    }
    let led = outcomes.iter().filter(|outcome| outcome.is_led()).count();
    println!("{led} of {} are led to their truth", outcomes.len());
    led == outcomes.len()
}

/// Volts that the generator's own solver and the library may differ where nothing is off: the
/// generator leaves out the coupling of the transformer's halves.
const AGREE_VOLT: f64 = 0.3;

/// A small fixed part that must hold wherever it runs.
fn small_part() {
    let (off, compared) = agreement::greatest_difference(1, 10);
    assert!(compared > 80 && off < AGREE_VOLT, "{compared} readings differ by up to {off} V");
    println!("generator and library: {compared} readings within {off:.3} V");
    let asked = Asked { scenarios: 12, circuits: 1, unlisted: 0.0, sound: 0.0, ..Asked::default() };
    let tally = cell(&asked, 4, Level::AsModelled, Policy::OneStep);
    print!("4 boxes, as modelled, one step\n{}", tally.words());
    assert_eq!(tally.refused.0, 0, "{:?}", tally.refused.1);
    assert!(tally.first.right * 10 >= tally.first.of * 8);
}
