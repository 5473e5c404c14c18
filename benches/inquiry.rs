//! An inquiry into a long run: told a complaint from nothing, and each choice of the next test.
//!
//! `cargo bench --bench inquiry` measures; `-- --test` runs each once. Every iteration asserts its
//! answer.

#![allow(clippy::unwrap_used)] // A bench: a panic is its answer.
#![allow(missing_docs)]

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use slotwise::circuit::Circuit;
use slotwise::diagnosis::{Advice, Complaint, Effort, Inquiry, Means, ReadingError};
use support::run::run;

#[path = "../tests/support/mod.rs"]
mod support;

const N_BOXES: [usize; 2] = [16, 40];

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
        // A lamp half way and a heater at the end.
        let circuit = run(n_boxes, &[("lamp", n_boxes / 2, 60), ("heater", n_boxes - 1, 1200)]);
        let mut group = criterion.benchmark_group(format!("inquiry/{n_boxes}_boxes"));
        group.sample_size(10);
        group.bench_function("told_from_nothing", |bencher| {
            bencher.iter(|| {
                let findings = told(black_box(&circuit), n_boxes, one_step).findings();
                assert!(findings.nothing_wrong < 0.2);
            });
        });
        for (name, effort) in [("one_step", one_step), ("look_ahead", Effort::default())] {
            group.bench_function(BenchmarkId::new("choice", name), |bencher| {
                let mut inquiry = told(&circuit, n_boxes, effort);
                inquiry.advise();
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
