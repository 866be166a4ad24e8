//! A memory changes how long the engine takes, never what it says; and it saves what it is for.

use jiff::civil::date;
use tinworm::car::{Car, RepairDone, Seen};
use tinworm::engine::assess::{assess, assess_again};
use tinworm::engine::memory::Memory;
use tinworm::rubric::builtin;
use tinworm::units::Grade;

#[path = "../bench/cars.rs"]
mod cars;

/// What is done to the car, and how.
type Change = (&'static str, fn(&mut Car));

/// Everything that is said, to the last digit: Rust prints the shortest text that reads back as the same number.
fn said(car: &Car, memory: &mut Memory) -> String {
    format!("{:?}", assess_again(car, builtin::library(), cars::TODAY, memory))
}

#[test]
fn what_is_remembered_is_what_would_be_reckoned() {
    let mut car = cars::car(60, 3, 7);
    let mut memory = Memory::new();
    let fresh = |car: &Car| format!("{:?}", assess(car, builtin::library(), cars::TODAY));
    let mut before = said(&car, &mut memory);
    assert_eq!(before, fresh(&car));
    let changes: [Change; 7] = [
        ("a look of the newest survey", |car| *car = cars::one_look_changed(car)),
        ("a look of the first survey", |car| {
            if let Some(look) = car.surveys[0]
                .looks
                .iter_mut()
                .find(|l| matches!(l.seen, Seen::Grade(_)))
            {
                look.seen = Seen::Grade(Grade::ALL[4]);
            }
        }),
        ("a survey graded harder throughout", |car| {
            for look in &mut car.surveys[2].looks {
                if let Seen::Grade(grade) = look.seen {
                    look.seen = Seen::Grade(Grade::new(grade.digit() + 1).unwrap_or(Grade::LIMIT));
                }
            }
        }),
        ("a look taken back", |car| {
            car.surveys[2].looks.remove(5);
        }),
        ("a repair", |car| {
            let (repair, part) = (car.surveys[0].looks.iter())
                .find_map(|l| {
                    let mut repairs = builtin::library().repairs_of(&l.part.component);
                    Some((repairs.next()?, l.part.clone()))
                })
                .expect("something can be repaired");
            car.repairs.push(RepairDone::new(date(2026, 4, 12), &repair.id, part));
        }),
        ("a wetter climate", |car| car.profile.climate = "C4".to_owned()),
        ("another next survey", |car| {
            car.profile.next_survey = Some(date(2026, 10, 1))
        }),
    ];
    for (what, change) in changes {
        change(&mut car);
        let now = said(&car, &mut memory);
        assert!(now == fresh(&car), "{what}: remembered is not reckoned");
        assert!(now != before, "{what} changes something");
        before = now;
    }
    // Draws are left out of what is printed of a part's exposure; they too are the same.
    let (again, fresh) = (
        assess_again(&car, builtin::library(), cars::TODAY, &mut memory),
        assess(&car, builtin::library(), cars::TODAY),
    );
    for (a, b) in again.parts.iter().zip(&fresh.parts) {
        assert_eq!(a.draws, b.draws, "{}", a.id);
    }
}

#[test]
fn one_changed_look_sends_less_than_half_of_the_filters() {
    let car = cars::car(60, 3, 7);
    let library = builtin::library();
    let mut memory = Memory::new();
    let all = assess_again(&car, library, cars::TODAY, &mut memory).parts.len();
    let cold = memory.work();
    let looks: usize = car.surveys.iter().map(|s| s.looks.len()).sum();
    assert!(cold.steps > 0 && cold.parts == all);
    assert!(
        cold.steps <= 3 * looks,
        "a look and a wait each, and looks once more for what drives other checks: {} for {looks} looks",
        cold.steps
    );
    let _ = assess_again(&car, library, cars::TODAY, &mut memory);
    assert_eq!((memory.work().steps, memory.work().parts), (0, 0), "nothing changed");
    let assessment = assess_again(&cars::one_look_changed(&car), library, cars::TODAY, &mut memory);
    let work = memory.work();
    println!(
        "one changed look: {} of {} steps, {} of {all} parts",
        work.steps, cold.steps, work.parts
    );
    // Its own filter, and that of every other check of the survey where its offset moved by a fiftieth.
    assert!(work.steps < cold.steps / 2, "{} of {} steps", work.steps, cold.steps);
    // Parts that share its clock are weighed again; on a small car that may be all of them, without a filter.
    assert!(work.parts <= all, "{} of {all} parts", work.parts);
    assert_eq!(assessment.parts.len(), all);
}
