//! How long a whole car takes: the demo car assessed and planned.

use tinworm::{demo, engine, rubric::builtin};

fn main() {
    divan::main();
}

#[divan::bench]
fn assess() -> engine::Assessment {
    engine::assess::assess(&demo::car(), builtin::library(), demo::today())
}

#[divan::bench]
fn plan(bencher: divan::Bencher) {
    let car = demo::car();
    let assessment = engine::assess::assess(&car, builtin::library(), demo::today());
    bencher.bench_local(|| engine::plan::plan(&car, builtin::library(), &assessment));
}
