//! An inquiry into a long run: told a complaint from nothing, and each choice of the next test.
//!
//! `cargo bench --bench inquiry` measures; `-- --test` runs each once. Every iteration asserts its
//! answer.

#![allow(clippy::unwrap_used)] // A bench: a panic is its answer.
#![allow(missing_docs)]

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use slotwise::circuit::{Circuit, file};
use slotwise::diagnosis::{Advice, Complaint, Effort, Inquiry, Means, ReadingError};

const N_BOXES: [usize; 2] = [16, 40];

/// Receptacles on one cable, a lamp half way and a heater at the end.
fn run(n_boxes: usize) -> Circuit {
    let boxes: String = (0..n_boxes)
        .map(|n| match n {
            0 => r#"(id: "b0", from: "c1", feet: 30),"#.to_owned(),
            n => format!(r#"(id: "b{n}", from: "b{}", feet: 12),"#, n - 1),
        })
        .collect();
    let text = format!(
        r#"(
            format: 1,
            circuits: [(id: "c1", amperes: 20)],
            boxes: [{boxes}],
            loads: [
                (id: "lamp", at: "b{}", kind: Resistive(watts: 60)),
                (id: "heater", at: "b{}", kind: Resistive(watts: 1200)),
            ],
        )"#,
        n_boxes / 2,
        n_boxes - 1
    );
    file::read(&text).unwrap().circuit
}

/// Dead from two thirds of the run on.
fn told(circuit: &Circuit, n_boxes: usize, effort: Effort) -> Inquiry<'_> {
    let place = format!("b{}", n_boxes * 2 / 3);
    let mut inquiry = Inquiry::with(circuit, Means::default(), ReadingError::default(), effort);
    inquiry.complain(&Complaint::DeadFrom { place }).unwrap();
    inquiry
}

fn inquiry(criterion: &mut Criterion) {
    let one_step = Effort { steps: 1, ..Effort::default() };
    for n_boxes in N_BOXES {
        let circuit = run(n_boxes);
        let mut group = criterion.benchmark_group(format!("inquiry/{n_boxes}_boxes"));
        group.sample_size(10);
        group.bench_function("told_from_nothing", |bencher| {
            bencher.iter(|| {
                let findings = told(black_box(&circuit), n_boxes, one_step).findings();
                assert!(findings.nothing_wrong < 0.2);
            });
        });
        for (name, effort) in [("one_step", one_step), ("look_ahead", Effort::default())] {
            let mut inquiry = told(&circuit, n_boxes, effort);
            inquiry.advise();
            group.bench_function(BenchmarkId::new("choice", name), |bencher| {
                bencher.iter(|| {
                    let advice = black_box(&inquiry).clone().advise();
                    assert!(matches!(advice, Advice::Test(_)));
                });
            });
        }
        group.finish();
    }
}

criterion_group!(benches, inquiry);
criterion_main!(benches);
