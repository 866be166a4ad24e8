//! The owner's limits: sessions, holidays, money, parts on order, pins, work that stands open; what each costs, and what if.

use jiff::civil::{Date, date};
use tinworm::car::{
    Buying, Car, Change, Day, DaysOff, ExtraWork, OpenJob, Purchase, RepairDone, Session, Sessions, Target,
};
use tinworm::engine::assess::assess;
use tinworm::engine::plan::alternatives::alternatives;
use tinworm::engine::plan::limits::{Limit, every_limit, limits};
use tinworm::engine::plan::whatif::{Supposed, what_if};
use tinworm::engine::plan::{Because, NotPlacedBecause, Plan, Why, plan};
use tinworm::engine::{Assessment, NoticeCause};
use tinworm::report::{Paper, Subject, words};
use tinworm::rubric::NewPart;

use super::whole_loop::{TODAY, car, graded, id, library, read, worn_front};

const ARM: &str = "lower-arm@front-left";
const SATURDAY: Date = date(2026, 4, 18);

fn planned(car: &Car) -> (Assessment, Plan) {
    let assessment = assess(car, library(), TODAY);
    let plan = plan(car, library(), &assessment);
    (assessment, plan)
}

fn when(plan: &Plan, part: &str) -> Option<Date> {
    plan.work_on(&id(part)).map(|(_, work)| work.done_on)
}

/// Two worn track rod ends and a worn arm, little else.
fn three(session_hours: f64) -> Car {
    let mut car = car(
        &[
            "track-rod-end@front-left",
            "track-rod-end@front-right",
            "lower-arm-bush@front-left/rear",
            ARM,
        ],
        session_hours,
    );
    let c = &mut car;
    for (part, play) in [("track-rod-end@front-left", 1.6), ("track-rod-end@front-right", 1.1)] {
        graded(c, date(2026, 4, 11), part, "boot", 4);
        read(c, date(2026, 4, 11), part, "play", play);
    }
    graded(c, date(2026, 4, 11), "lower-arm-bush@front-left/rear", "rubber", 4);
    graded(c, date(2026, 4, 11), ARM, "metal", 2);
    graded(c, date(2026, 4, 11), ARM, "shape", 0);
    car
}

fn order(car: &mut Car, part: &str, status: Buying) {
    let (_, plan) = planned(car);
    let (visit, work) = plan.work_on(&id(part)).expect("work");
    let things: Vec<_> = visit.parts.iter().filter(|b| b.repair == work.repair).collect();
    assert!(!things.is_empty(), "{part} needs nothing");
    for bought in things {
        let purchase = Purchase::new(bought.part.clone(), &bought.repair, &bought.name);
        let usual = f64::from(bought.count) * bought.cost;
        car.apply(Change::Buy(purchase.now_is(status, TODAY, usual)))
            .expect("bought");
    }
}

#[test]
fn sessions_may_be_listed_and_differ_and_holidays_are_kept_free() {
    let mut car = three(6.0);
    car.profile.sessions = Sessions {
        weekdays: vec![Day::Saturday, Day::Wednesday],
        hours: 6.0,
        hours_on: vec![(Day::Wednesday, 2.0)],
        listed: vec![Session {
            date: date(2026, 4, 20),
            hours: 9.0,
        }],
        days_off: vec![DaysOff {
            from: date(2026, 4, 13),
            to: date(2026, 4, 19),
        }],
        ..Sessions::default()
    };
    let (_, plan) = planned(&car);
    assert!(!plan.visits.is_empty());
    for visit in &plan.visits {
        let own = car.profile.sessions.on(visit.date).expect("a session");
        assert!(visit.date >= date(2026, 4, 20), "{}", visit.date);
        let spans: f64 = std::iter::once(own)
            .chain(visit.runs_on.iter().filter_map(|d| car.profile.sessions.on(*d)))
            .sum();
        assert!(
            visit.hours.mean <= spans + 1e-6,
            "{} {} > {spans}",
            visit.date,
            visit.hours.mean
        );
        assert!(visit.room <= spans + 1e-6);
        assert_eq!(visit.may_run_into.is_some(), visit.hours.high > visit.room + 1e-6);
    }
    car.profile.sessions.weekdays.clear();
    let (_, plan) = planned(&car);
    assert!(
        plan.visits.iter().all(|v| v.date == date(2026, 4, 20)),
        "only the listed one is left"
    );
}

#[test]
fn a_part_on_order_is_waited_for_and_one_in_hand_is_not() {
    let part = "track-rod-end@front-left";
    let mut car = three(8.0);
    let (_, before) = planned(&car);
    order(
        &mut car,
        part,
        Buying::Ordered {
            expected: date(2026, 5, 20),
        },
    );
    let (_, ordered) = planned(&car);
    assert_eq!(
        when(&ordered, part),
        Some(date(2026, 5, 23)),
        "the first Saturday after it comes"
    );
    let (visit, _) = ordered.work_on(&id(part)).expect("work");
    assert!(
        visit.parts.iter().any(|b| b.part == id(part) && b.to_pay() == 0.0),
        "it is paid"
    );
    assert!(
        visit.why.iter().any(|w| matches!(w, Why::WaitsForParts(_))),
        "{:?}",
        visit.why
    );
    assert!(ordered.exposure > before.exposure);

    order(&mut car, part, Buying::InHand);
    let (_, in_hand) = planned(&car);
    assert_eq!(when(&in_hand, part), Some(SATURDAY));
    let (visit, _) = in_hand.work_on(&id(part)).expect("work");
    assert!(visit.buy.iter().all(|b| {
        !visit.parts.iter().any(|p| p.part == id(part) && p.name == b.name)
            || visit
                .parts
                .iter()
                .any(|p| p.name == b.name && p.status != Buying::InHand)
    }));

    // Late: it should have come ten days ago and is not believed to come tomorrow.
    order(
        &mut car,
        part,
        Buying::Ordered {
            expected: date(2026, 4, 2),
        },
    );
    let (_, late) = planned(&car);
    let (visit, _) = late.work_on(&id(part)).expect("work");
    assert!(visit.parts.iter().any(|b| b.overdue && b.ready > TODAY));
}

#[test]
fn money_spent_since_it_was_counted_is_gone() {
    let mut car = three(8.0);
    car.profile.budget.limited = true;
    car.profile.budget.in_hand = 500.0;
    car.profile.budget.since = Some(date(2026, 4, 1));
    let (_, rich) = planned(&car);
    assert!(rich.not_placed.is_empty(), "{:?}", rich.not_placed);
    let mut spent = RepairDone::new(date(2026, 4, 10), "renew-drop-link", id("drop-link@front-left"));
    spent.cost = Some(490.0);
    car.apply(Change::Done(spent)).expect("done");
    let (_, poor) = planned(&car);
    assert!(
        poor.not_placed.iter().any(|n| n.because == NotPlacedBecause::NoMoney) || poor.exposure > rich.exposure,
        "{:?}",
        poor.not_placed
    );
}

#[test]
fn loosening_a_limit_never_raises_the_exposure() {
    let mut cars = vec![three(4.0), worn_front(4.0)];
    for car in &mut cars {
        car.profile.budget.limited = true;
        car.profile.budget.in_hand = 60.0;
        car.profile.budget.per_month = 40.0;
        car.profile.sessions.except = vec![SATURDAY];
        car.profile.sessions.days_off = vec![DaysOff {
            from: date(2026, 5, 1),
            to: date(2026, 5, 17),
        }];
        car.profile.sessions.from = Some(date(2026, 4, 16));
        car.wishes
            .pinned
            .insert(id("track-rod-end@front-right"), date(2026, 6, 6));
        let assessment = assess(car, library(), TODAY);
        let all = every_limit(car, library(), &assessment);
        for cost in &all {
            assert!(cost.without <= cost.with + 1e-6, "{cost:?}");
        }
        for wanted in [
            Limit::Hours,
            Limit::Money,
            Limit::DaysOff,
            Limit::Pins,
            Limit::PartsToCome,
        ] {
            assert!(all.iter().any(|c| c.limit == wanted), "{wanted:?} is not among {all:?}");
        }
        let told = limits(car, library(), &assessment);
        assert!(told.iter().all(|c| c.share() >= 0.01), "{told:?}");
        assert!(
            told.iter().any(|c| c.limit == Limit::Pins),
            "six weeks of waiting cost something: {all:?}"
        );
        for cost in &told {
            let said = words::limit_cost(library(), cost);
            assert!(said.contains('%'), "{said}");
        }
    }
    // By hours, step by step.
    let mut last = f64::INFINITY;
    for hours in [3.0, 4.0, 6.0, 9.0, 14.0] {
        let (_, plan) = planned(&three(hours));
        assert!(plan.not_placed.is_empty());
        assert!(plan.exposure <= last + 1e-6, "{hours} h: {} > {last}", plan.exposure);
        last = plan.exposure;
    }
}

#[test]
fn ordering_today_is_worth_what_a_fortnight_of_waiting_adds() {
    let car = three(8.0);
    let (assessment, now) = planned(&car);
    let all = every_limit(&car, library(), &assessment);
    let (visit, work) = now.work_on(&id("track-rod-end@front-left")).expect("work");
    assert!(visit.parts.iter().any(|b| b.lead_days > 0));
    let cost = all
        .iter()
        .find(|c| c.limit == Limit::OrderToday(work.repair.clone(), work.part.clone()))
        .expect("its order is looked at");
    assert!(cost.share() > 0.01, "{cost:?}");
    let mut later = car.clone();
    for bought in visit
        .parts
        .iter()
        .filter(|b| b.repair == work.repair && b.part == work.part && b.lead_days > 0)
    {
        let mut purchase = Purchase::new(bought.part.clone(), &bought.repair, &bought.name);
        purchase.lead_days = Some(bought.lead_days + 14);
        later.apply(Change::Buy(purchase)).expect("said");
    }
    let (_, later) = planned(&later);
    assert!((later.exposure - cost.with).abs() < 1e-6, "{} {cost:?}", later.exposure);
}

#[test]
fn what_if_tells_what_a_pin_a_drop_and_shorter_sessions_change_and_keeps_nothing() {
    let car = three(8.0);
    let (assessment, now) = planned(&car);
    let worst = id("track-rod-end@front-left");
    let ask = |what: &[Supposed]| what_if(&car, library(), &assessment, &now, what);
    let (plan, pinned) = ask(&[Supposed::Pinned(worst.clone(), date(2026, 7, 4))]);
    assert_eq!(when(&plan, "track-rod-end@front-left"), Some(date(2026, 7, 4)));
    assert!(pinned.points() > 0.0);
    let first = pinned.moves.first().expect("a move");
    assert_eq!((&first.part, first.after), (&worst, Some(date(2026, 7, 4))));
    let subject = Subject {
        car: &car,
        library: library(),
        assessment: &assessment,
    };
    let said = tinworm::report::whatif::because(&subject, &pinned);
    assert!(
        said.contains("points more until Saturday 2026-07-04") && said.contains("because of the track rod end"),
        "{said}"
    );
    let text = tinworm::report::whatif::text(&subject, &pinned, &plan, Paper::default());
    assert!(
        text.contains("nothing is kept") && text.contains("What moves"),
        "{text}"
    );

    let (plan, dropped) = ask(&[Supposed::Dropped(worst.clone())]);
    assert!(
        plan.not_placed
            .iter()
            .any(|n| n.part == worst && n.because == NotPlacedBecause::Dropped)
    );
    assert!(
        dropped.points() > pinned.points(),
        "never done carries more than done late"
    );
    assert!(dropped.cost_after < dropped.cost_before);

    let (_, shorter) = ask(&[Supposed::Hours(3.0)]);
    assert!(shorter.points() >= 0.0 && shorter.ends_after >= shorter.ends_before);
    let (_, poorer) = ask(&[Supposed::Budget(Some(0.0)), Supposed::PerMonth(10.0)]);
    assert!(poorer.points() > 0.0);
    let (_, same) = ask(&[]);
    assert!(same.points().abs() < 1e-9 && same.moves.is_empty(), "{same:?}");
}

#[test]
fn the_whole_arm_is_set_against_its_bush_in_hours_money_and_exposure() {
    let car = three(8.0);
    let (assessment, _) = planned(&car);
    let all = alternatives(&car, library(), &assessment, &id("lower-arm-bush@front-left/rear"));
    assert!(all.first().is_some_and(|a| a.planned), "{all:?}");
    let does = |repair: &str| all.iter().find(|a| a.work.iter().any(|(r, _)| r == repair));
    let arm = does("renew-lower-arm").expect("the whole arm");
    let bush = all
        .iter()
        .find(|a| a.work.iter().all(|(r, _)| r != "renew-lower-arm"))
        .expect("the bush alone");
    assert!(
        arm.difference.cost_after > bush.difference.cost_after,
        "an arm costs more than a bush"
    );
    let subject = Subject {
        car: &car,
        library: library(),
        assessment: &assessment,
    };
    let text =
        tinworm::report::whatif::alternatives(&subject, &id("lower-arm-bush@front-left/rear"), &all, Paper::default());
    assert!(
        text.contains("tinworm choose CAR") && text.contains("planned"),
        "{text}"
    );
    // What it says to choose brings it about.
    let mut chosen = car.clone();
    chosen.wishes = if arm.planned { bush } else { arm }.wishes.clone();
    let (_, plan) = planned(&chosen);
    let other = if arm.planned { bush } else { arm };
    assert!((plan.cost() - other.difference.cost_after).abs() < 1e-6);
}

#[test]
fn what_stands_open_carries_the_notice_and_is_closed_first() {
    let mut car = three(6.0);
    car.profile.sessions.targets = vec![Target {
        name: "before the inspection".to_owned(),
        date: date(2026, 4, 19),
    }];
    let (_, before) = planned(&car);
    let (_, work) = before.work_on(&id("track-rod-end@front-right")).expect("work");
    let repair = work.repair.clone();
    let open = OpenJob {
        part: id("track-rod-end@front-right"),
        repair: repair.clone(),
        since: date(2026, 4, 11),
        hours_so_far: 1.0,
        hours_left: Some(1.5),
        open_steps: vec!["front-wheel-off".to_owned()],
        did: vec!["nut off".to_owned()],
        extra: vec![ExtraWork {
            what: "make good the sheared ball stud nut".to_owned(),
            hours: 2.0,
            buy: vec![NewPart {
                name: "stud".to_owned(),
                count: 1,
                cost: 6.0,
                lead_days: 20,
            }],
        }],
        note: String::new(),
    };
    car.apply(Change::Left(open)).expect("left");
    let (assessment, plan) = planned(&car);
    assert!(
        assessment
            .notice
            .iter()
            .any(|n| n.part == id("track-rod-end@front-right") && matches!(n.because, NoticeCause::StandsOpen(_)))
    );
    let (visit, work) = plan.work_on(&id("track-rod-end@front-right")).expect("work");
    assert_eq!(work.because, Because::StandsOpen);
    assert!(
        (work.hours - 3.5).abs() < 1e-9,
        "what is left and what came on top: {}",
        work.hours
    );
    assert_eq!(visit.date, date(2026, 5, 2), "its stud is in hand on 2 May, a Saturday");
    assert!(visit.why.contains(&Why::StandsOpen));
    assert!(visit.parts.iter().any(|b| b.name == "stud"));
    let target = plan.targets.first().expect("a target");
    assert!(target.left.contains(&id("track-rod-end@front-right")), "{target:?}");
    assert!(plan.back_on_the_road >= Some(date(2026, 5, 2)));

    for change in car.finishing(RepairDone::new(
        date(2026, 4, 12),
        &repair,
        id("track-rod-end@front-right"),
    )) {
        car.apply(change).expect("finished");
    }
    assert!(car.progress.open.is_empty());
    assert!(planned(&car).1.work_on(&id("track-rod-end@front-right")).is_none());
}

#[test]
fn hours_written_down_teach_the_hours_of_later_visits() {
    let mut car = three(8.0);
    let (_, before) = planned(&car);
    for _ in 0..4 {
        let done = RepairDone {
            hours: Some(3.0),
            planned_hours: Some(2.0),
            ..RepairDone::new(date(2026, 3, 1), "renew-drop-link", id("drop-link@front-left"))
        };
        car.apply(Change::Done(done)).expect("done");
    }
    let (_, after) = planned(&car);
    // Four jobs at one and a half times: half the way in the logarithm.
    let times = 1.5_f64.sqrt();
    assert!((after.pace.times - times).abs() < 1e-9);
    let hours = |plan: &Plan| {
        plan.work_on(&id("track-rod-end@front-left"))
            .map(|(_, w)| w.hours)
            .expect("work")
    };
    assert!((hours(&after) / hours(&before) - times).abs() < 1e-6);
    assert!(after.hours() > before.hours());
    let said = words::pace_of_work(&after.pace);
    assert!(said.contains("1.2 times the rubrics' hours, from 4 jobs"), "{said}");
}

#[test]
fn worse_threads_make_the_ninety_per_cent_hours_longer() {
    let high = |grade: u8| {
        let mut car = three(8.0);
        graded(&mut car, date(2026, 4, 11), ARM, "pivot-bolt-thread", grade);
        car.wishes.chosen.insert(id(ARM), "renew-lower-arm".to_owned());
        let (_, plan) = planned(&car);
        let (visit, work) = plan.work_on(&id(ARM)).expect("the arm");
        (work.hours, visit.hours.high - visit.hours.median)
    };
    let (clean, rusty) = (high(0), high(5));
    assert!(rusty.0 > clean.0 && rusty.1 > 0.0, "{clean:?} {rusty:?}");
}
