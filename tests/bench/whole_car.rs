//! How long a whole car takes: assessed from nothing, assessed again after one look, ranked, planned, drawn on the screen.
//!
//! `RAYON_NUM_THREADS=1 cargo bench --bench whole_car` for one core.

mod cars;

use std::cell::{Cell, RefCell};
use std::sync::Arc;

use divan::Bencher;
use rayon::prelude::*;
use tinworm::engine::assess::{assess, assess_again};
use tinworm::engine::decline::{Ask, CarFactor, Filter, Kernels, Observation, Prior, Start, dealt};
use tinworm::engine::memory::Memory;
use tinworm::engine::standing::{DRAWS, place_ranges};
use tinworm::engine::{Assessment, plan};
use tinworm::rubric::{LetsGo, Quickened, USUAL_EDGES};
use tinworm::{demo, rubric::builtin};

fn main() {
    tinworm::engine::memory::keep_freed_memory();
    // The memory that the largest of these cars takes is told before anything else has taken any.
    if std::env::args().any(|a| a == "--peak-memory") {
        peak_memory();
        return;
    }
    divan::main();
}

/// Checks and surveys.
const SIZES: [(usize, usize); 3] = [(50, 3), (150, 3), (400, 10)];

#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn from_nothing(bencher: Bencher, (checks, surveys): (usize, usize)) {
    let car = cars::car(checks, surveys, 1);
    bencher.bench_local(|| assess(&car, builtin::library(), cars::TODAY));
}

#[divan::bench(args = SIZES, sample_count = 40, sample_size = 1)]
fn after_one_changed_look(bencher: Bencher, (checks, surveys): (usize, usize)) {
    let car = cars::car(checks, surveys, 1);
    let cars = [cars::one_look_changed(&car), car];
    let mut memory = Memory::new();
    let mut turn = 0;
    let _ = assess_again(&cars[1], builtin::library(), cars::TODAY, &mut memory);
    bencher.bench_local(|| {
        turn += 1;
        assess_again(&cars[(turn + 1) % 2], builtin::library(), cars::TODAY, &mut memory)
    });
}

/// Another look of the newest survey each time: for most of them the pace of their clock stays where it is kept.
#[divan::bench(args = SIZES, sample_count = 60, sample_size = 1)]
fn after_any_changed_look(bencher: Bencher, (checks, surveys): (usize, usize)) {
    let car = cars::car(checks, surveys, 1);
    let memory = RefCell::new(Memory::new());
    let turn = Cell::new(0);
    bencher
        .with_inputs(|| {
            let _ = assess_again(&car, builtin::library(), cars::TODAY, &mut memory.borrow_mut());
            turn.set(turn.get() + 1);
            // Far from one another, and each once.
            cars::a_look_changed(&car, turn.get() * 37)
        })
        .bench_local_refs(|changed| assess_again(changed, builtin::library(), cars::TODAY, &mut memory.borrow_mut()));
}

/// A round as it is walked: look after look, each on top of those before.
#[divan::bench(args = SIZES, sample_count = 150, sample_size = 1)]
fn look_after_look(bencher: Bencher, (checks, surveys): (usize, usize)) {
    let car = RefCell::new(cars::car(checks, surveys, 1));
    let mut memory = Memory::new();
    let turn = Cell::new(0);
    let _ = assess_again(&car.borrow(), builtin::library(), cars::TODAY, &mut memory);
    bencher
        .with_inputs(|| {
            turn.set(turn.get() + 1);
            let next = cars::a_look_changed(&car.borrow(), turn.get() * 37);
            car.replace(next.clone());
            next
        })
        .bench_local_refs(|car| assess_again(car, builtin::library(), cars::TODAY, &mut memory));
}

/// What an assessment costs of which everything is known.
#[divan::bench(args = SIZES, sample_count = 40, sample_size = 1)]
fn with_nothing_changed(bencher: Bencher, (checks, surveys): (usize, usize)) {
    let car = cars::car(checks, surveys, 1);
    let mut memory = Memory::new();
    let _ = assess_again(&car, builtin::library(), cars::TODAY, &mut memory);
    bencher.bench_local(|| assess_again(&car, builtin::library(), cars::TODAY, &mut memory));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn demo_from_nothing() -> Assessment {
    assess(&demo::car(), builtin::library(), demo::today())
}

#[divan::bench(sample_count = 40, sample_size = 1)]
fn demo_after_one_changed_look(bencher: Bencher) {
    let car = demo::car();
    let cars = [cars::one_look_changed(&car), car];
    let mut memory = Memory::new();
    let mut turn = 0;
    let _ = assess_again(&cars[1], builtin::library(), demo::today(), &mut memory);
    bencher.bench_local(|| {
        turn += 1;
        assess_again(&cars[(turn + 1) % 2], builtin::library(), demo::today(), &mut memory)
    });
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn demo_plan(bencher: Bencher) {
    let car = demo::car();
    let assessment = assess(&car, builtin::library(), demo::today());
    bencher.bench_local(|| plan::plan(&car, builtin::library(), &assessment));
}

/// One check a part, which may fail in one way and stand in two classes on four days.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn two_thousand_rank_draws_of_150_parts(bencher: Bencher) {
    let kernels = Kernels::new();
    let level = LetsGo::default();
    let mut asks = vec![Ask::Fails { level, ahead: 1.2 }];
    for damage in [0.75, 1.0] {
        asks.extend([0.0, 0.4, 0.8, 1.2].map(|ahead| Ask::Past { damage, ahead }));
    }
    let prior = Prior {
        life: 12.0,
        spread: 0.6,
        quickened: Quickened::default(),
        jumpiness: 0.1,
        quickening: 1.0,
    };
    let posteriors: Vec<_> = (0..150usize)
        .map(|nth| {
            let mut filter = Filter::new(&prior, Start::Unknown, &kernels);
            for grade in [nth % 3, nth % 3 + nth % 2, nth % 3 + nth % 4] {
                let seen = Observation::Grade {
                    edges: USUAL_EDGES,
                    grade,
                    sd: 0.12,
                };
                filter.observe(&seen, 0.0);
                filter.advance(0.5);
            }
            filter.posterior(&CarFactor::prior(0.4), &[level])
        })
        .collect();
    bencher.bench_local(|| {
        let draws: Vec<Vec<f32>> = (0u64..)
            .zip(&posteriors)
            .map(|(seed, now)| {
                let columns = now.drawn(DRAWS as usize, &asks);
                let order = dealt(2000, seed);
                #[allow(clippy::cast_possible_truncation)]
                order
                    .iter()
                    .map(|at| columns.iter().map(|c| c[*at as usize]).sum::<f64>() as f32)
                    .collect()
            })
            .collect();
        let draws: Vec<&[f32]> = draws.iter().map(Vec::as_slice).collect();
        place_ranges(&draws)
    });
}

/// On all cores there are, sharing what holds for all cars; the time should double with the cars.
#[divan::bench(args = [20, 40, 80], sample_count = 2, sample_size = 1)]
fn many_cars_of_50_checks(bencher: Bencher, count: u64) {
    let cars: Vec<_> = (0..count).map(|seed| cars::car(50, 3, seed)).collect();
    bencher.bench_local(|| {
        let shared = Memory::new();
        cars.par_iter()
            .map(|car| assess_again(car, builtin::library(), cars::TODAY, &mut shared.for_another_car()))
            .map(|assessment| assessment.parts.len())
            .sum::<usize>()
    });
}

/// From rubrics in hand to the first screen in the buffer; what the terminal takes comes on top.
#[divan::bench(sample_count = 40, sample_size = 1)]
fn first_frame(bencher: Bencher) {
    use ratatui::{buffer::Buffer, layout::Rect};
    use tinworm::tui::{app::App, app::Msg, desk::Desk, theme::Theme, world::World};
    let library = Arc::new(builtin::library().clone());
    bencher.bench_local(|| {
        let world = World::memory(demo::car());
        let theme = Theme::from_environment(tinworm::tui::Drawn::default(), |name| std::env::var(name).ok());
        let mut app = App::new(Desk::new(Arc::clone(&library), demo::today(), theme), (120, 40));
        if let Some(opened) = world.in_hand() {
            app.update(Msg::Opened(Ok(opened)));
        }
        let area = Rect::new(0, 0, 120, 40);
        let mut buffer = Buffer::empty(area);
        app.view(area, &mut buffer);
        buffer
    });
}

/// The rubrics as the program reads them when it starts.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn reading_the_rubrics() -> bool {
    tinworm::rubric::load(&builtin::sources()).is_ok()
}

/// Prints the most memory this process has held after each of several cars.
fn peak_memory() {
    let told = |what: &str| {
        let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
        let peak = status
            .lines()
            .find(|l| l.starts_with("VmHWM"))
            .unwrap_or("VmHWM unknown");
        println!("{what}: {peak}");
    };
    told("nothing yet");
    let mut memory = Memory::new();
    let car = cars::car(150, 3, 1);
    let _ = assess_again(&car, builtin::library(), cars::TODAY, &mut memory);
    told("150 checks, 3 surveys");
    let again = cars::one_look_changed(&car);
    let _ = assess_again(&again, builtin::library(), cars::TODAY, &mut memory);
    told("after one changed look");
    // As in a round: look after look, each on top of those before.
    let mut round = again;
    for which in 1..=450 {
        round = cars::a_look_changed(&round, which * 37);
        let _ = assess_again(&round, builtin::library(), cars::TODAY, &mut memory);
        if which % 150 == 0 {
            told(&format!("after {which} more"));
        }
    }
    let demo_car = demo::car();
    let assessment = assess_again(
        &demo_car,
        builtin::library(),
        demo::today(),
        &mut memory.for_another_car(),
    );
    let _ = plan::plan(&demo_car, builtin::library(), &assessment);
    told("the demo car, assessed and planned");
}
