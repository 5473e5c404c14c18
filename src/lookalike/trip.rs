//! What trips before anybody can hold an instrument to a receptacle.
//!
//! What trips only after minutes is left closed: the circuit is measured meanwhile.

use crate::protection::{Standing, Verdict};

/// What is certain to have tripped after so long, in seconds, has tripped. A ground-fault device
/// of class A takes up to 5.6 s at 6 mA (UL 943).
const AT_ONCE_S: f64 = 10.0;

/// Of the breakers and protective devices that are closed those that trip at once, by name. One that
/// is slower for certain than another is not among them: it is asked again once that is open.
pub(super) fn at_once(standing: Vec<Standing>) -> Vec<String> {
    let band = |one: &Standing| match one.verdict {
        Verdict::Trips { after, .. } => {
            after.latest_s.filter(|latest| *latest <= AT_ONCE_S).map(|at| (after.earliest_s, at))
        }
        Verdict::Stays(_) => None,
    };
    let first_s = standing.iter().filter_map(band).map(|(_, latest)| latest).reduce(f64::min);
    let trips = |one: &Standing| {
        band(one)
            .zip(first_s)
            .is_some_and(|((earliest, latest), first)| earliest < first || latest <= first)
    };
    standing.into_iter().filter(trips).map(|one| one.device).collect()
}

#[cfg(test)]
mod tests {
    use crate::circuit::file;
    use crate::condition::Condition;
    use crate::lookalike::after_tripping;

    #[test]
    fn what_is_slower_for_certain_stays_in_where_another_clears_the_fault() {
        let text = r#"(format: 1, circuits: [(id: "c1", amperes: 20)],
            boxes: [
                (id: "door", from: "c1", feet: 20, device: GroundFault(feeds: true)),
                (id: "bench", from: "door", feet: 12),
            ])"#;
        let circuit = file::read(text).unwrap().circuit;
        let tripped = |words: &str| {
            let mut condition = Condition::default();
            condition.say(&circuit, words).unwrap();
            after_tripping(&circuit, &condition).unwrap().1
        };
        // 140 A: the breaker takes seconds, and the ground-fault device is long open.
        assert_eq!(tripped("hot and ground bridged at bench through 0.7 ohm"), ["door.gf"]);
        assert_eq!(tripped("hot and neutral bridged at bench through 0.7 ohm"), ["c1"]);
        let both = tripped("hot and ground bridged at bench");
        assert_eq!(both, ["c1", "door.gf"], "nobody knows which is the quicker");
    }
}
