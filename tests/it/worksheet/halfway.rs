//! When one may stop half-way: from what the rubrics say, and never from their silence.

use tinworm::report::worksheet::StepKind;
use tinworm::rubric::{Halfway, Library, SourceText, builtin, check};

use super::{corner, demo_car};

#[test]
fn every_shipped_step_and_everything_owed_says_whether_it_may_wait() {
    let all = builtin::library().all();
    let silent = all.access_steps.iter().filter(|s| s.halfway.is_none()).map(|s| &s.id);
    let owed = all.follow_ups.iter().filter(|f| f.halfway.is_none()).map(|f| &f.id);
    assert_eq!(silent.chain(owed).collect::<Vec<_>>(), Vec::<&String>::new());
    for halfway in all.access_steps.iter().filter_map(|s| s.halfway.as_ref()) {
        assert_eq!(halfway.source, "common practice, no source");
    }
}

#[test]
fn nobody_stops_between_an_open_brake_and_its_bleeding() {
    let told = demo_car();
    let mut bled = 0;
    for sheet in told.sheets() {
        let Some(bleed) = sheet.steps.iter().find(|s| s.title.starts_with("Bleed the brakes")) else {
            continue;
        };
        if sheet.booking.is_some() {
            continue;
        }
        bled += 1;
        let owes = |step: &tinworm::report::worksheet::Step| {
            let work = step.work.map(|n| &told.plan.visits[sheet.number - 1].work[n]);
            work.and_then(|w| told.library.repair(&w.repair))
                .is_some_and(|r| r.follow_ups.iter().any(|f| f == "brakes-bled"))
        };
        let first = sheet.steps.iter().position(owes).unwrap();
        for step in &sheet.steps[first..bleed.number - 1] {
            assert!(!step.may_stop && !sheet.stops.after.contains(&step.number), "{step:?}");
        }
        assert!(sheet.stops.not.iter().any(|s| s.what.contains("Bleed the brakes")));
    }
    assert!(bled > 0);
}

#[test]
fn one_may_stop_on_stands_but_not_where_a_step_says_nothing() {
    let sheet = corner();
    let on_stands = sheet
        .steps
        .iter()
        .find(|s| s.title.starts_with("Open: front on stands"))
        .unwrap();
    assert!(on_stands.may_stop && sheet.stops.after.contains(&on_stands.number));

    let told = demo_car();
    let mut all = told.library.all().clone();
    for step in all.access_steps.iter_mut().filter(|s| s.id == "front-on-stands") {
        step.halfway = None;
    }
    let silent = told.with(told.car.clone(), Library::unchecked(all));
    let sheet = silent.sheet(sheet.number - 1);
    let from = sheet
        .steps
        .iter()
        .position(|s| s.title.starts_with("Open: front on stands"))
        .unwrap();
    let to = sheet
        .steps
        .iter()
        .position(|s| s.title.starts_with("Close: front on stands"))
        .unwrap();
    assert!(sheet.steps[from..to].iter().all(|s| !s.may_stop));
    assert!(
        sheet.stops.unknown.iter().any(|u| u == "Front on stands"),
        "{:?}",
        sheet.stops
    );
}

#[test]
fn a_car_on_its_wheels_with_something_loose_is_not_left() {
    let sheet = corner();
    let at = |title: &str| sheet.steps.iter().find(|s| s.title.starts_with(title)).unwrap();
    for (title, may) in [
        ("On its wheels, before", false),
        ("Open: front on stands", true),
        ("Close: front on stands", false),
        ("At ride height", true),
    ] {
        assert_eq!(at(title).may_stop, may, "{title}");
    }
    let down = at("Close: front on stands");
    assert!(
        down.notes.iter().any(|n| n.contains("wheel fixings crosswise")),
        "{down:?}"
    );
    assert_eq!(down.next_stop, Some(at("At ride height").number));
}

#[test]
fn a_step_that_may_not_wait_forbids_stopping_while_it_is_open() {
    let told = demo_car();
    let mut all = told.library.all().clone();
    for step in all.access_steps.iter_mut().filter(|s| s.id == "front-knuckle-parted") {
        step.halfway = Some(Halfway {
            may_wait: false,
            what: "Test.".to_owned(),
            source: "test".to_owned(),
        });
    }
    let strict = told.with(told.car.clone(), Library::unchecked(all));
    let sheet = strict.sheet(corner().number - 1);
    let open = |kind| {
        let mark = format!("{kind:?}: front joints parted");
        sheet
            .steps
            .iter()
            .position(|s| s.kind == kind && s.title.starts_with(&mark))
            .unwrap()
    };
    let (from, to) = (open(StepKind::Open), open(StepKind::Close));
    assert!(sheet.steps[from..to].iter().all(|s| !s.may_stop));
    assert!(sheet.steps[..from].iter().any(|s| s.may_stop));
    assert!(sheet.steps[to].may_stop);
}

fn mistakes(steps: &str) -> Vec<String> {
    let source = SourceText {
        name: "own.ron".to_owned(),
        text: format!("(schema: 1, access_steps: [{steps}])"),
    };
    check::look(&[source]).1.iter().map(ToString::to_string).collect()
}

#[test]
fn rubrics_that_contradict_themselves_about_waiting_are_told_so() {
    let step = |id: &str, needs: &str, halfway: &str| {
        format!("(id: \"{id}\", name: \"A\", within: Car, hours: 1.0, needs: [{needs}], halfway: {halfway}),")
    };
    let waits = "(may_wait: true, what: \"It may.\")";
    let not = "(may_wait: false, what: \"It may not.\")";
    let both = |first: &str, second: &str| mistakes(&(step("one", "", first) + &step("two", "\"one\"", second)));
    assert_eq!(both(waits, waits), Vec::<String>::new());
    assert_eq!(both(waits, not), Vec::<String>::new());
    assert_eq!(both(not, not), Vec::<String>::new());
    let found = both(not, waits);
    assert!(
        found.len() == 1 && found[0].contains("`two` may wait open, but `one`"),
        "{found:?}"
    );
    let found = mistakes(&step("one", "", "(may_wait: true, what: \"\")"));
    assert!(found.len() == 1 && found[0].contains("this text is empty"), "{found:?}");
}
