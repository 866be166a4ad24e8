//! Work for a specialist in the plan of a car: booked after its wait, paid for, and none of the owner's hours.

use jiff::civil::{Date, date};
use tinworm::car::{Budget, Car, Use};
use tinworm::engine::assess::assess;
use tinworm::engine::plan::{NotPlacedBecause, Plan, Visit, Why, plan};
use tinworm::report::page::Paper;
use tinworm::report::{self, Subject};
use tinworm::rubric::{Library, Specialist, builtin};

use super::whole_loop::{SPRING, TODAY, id};

/// A car of two panels, two joints and a geometry, over the shipped tables.
const RUBRIC: &str = r#"(
    schema: 1,
    components: [
        (id: "panel", name: "Panel", system: Structure, about: "A test.", checks: [(
            id: "metal", name: "Metal", stage: Underneath,
            kind: Graded(["New.", "Bloom.", "Scale.", "Pits.", "Layers.", "Holed."]),
            how: "Look.", decline: (driver: Corrosion(Bare), life: 15.0, source: "none"),
        )], modes: [(id: "tears", what: "It tears.", severity: Critical, driven_by: ["metal"])]),
        (id: "joint", name: "Joint", system: Steering, about: "A test.", checks: [(
            id: "play", name: "Play", stage: Underneath,
            kind: Graded(["None.", "Just felt.", "Felt.", "Seen.", "Clear.", "Loose."]),
            how: "Rock it.", decline: (driver: Ageing, life: 12.0, source: "none"),
        )], modes: [(id: "parts", what: "It parts.", severity: Critical, driven_by: ["play"])]),
        (id: "geometry", name: "Geometry", system: Steering, about: "A test.", checks: [(
            id: "feathering", name: "Feathering", stage: Underneath,
            kind: Graded(["None.", "A trace.", "One edge.", "Both edges.", "Sharp.", "To the cords."]),
            how: "Stroke the tread.", decline: (driver: Ageing, life: 12.0, source: "none"),
        )], modes: [(id: "wanders", what: "It wanders.", severity: Marginal, driven_by: ["feathering"])]),
    ],
    access_steps: [(id: "front-on-stands", name: "Front on stands", within: Axle, hours: 0.5)],
    follow_ups: [(id: "sealed", name: "Seal and wax", within: Car, hours: 2.0, buy: [(name: "wax", cost: 20.0)])],
    repairs: [
        (
            id: "weld-panel", name: "Have the panel welded", component: "panel", hours: 9.0,
            access: ["front-on-stands"], follow_ups: ["sealed"], tools: ["welding set"],
            buy: [(name: "patch", cost: 40.0, lead_days: 5)],
            fixings: [(name: "carrier bolt", thread: "M10x1.5", class: "8.8", graded_by: "metal")],
            specialist: (trade: "welder", wait_days: 21, cost: 300.0),
            cautions: ["welding"], notes: ["Strip the carpet and unclip the pipes before the car goes."],
        ),
        (
            id: "renew-joint", name: "Renew the joint", component: "joint", hours: 2.5,
            access: ["front-on-stands"], tools: ["splitter"], buy: [(name: "joint", cost: 30.0)],
        ),
        (
            id: "set-geometry", name: "Have the geometry set", component: "geometry", kind: Treat([(check: "feathering", to: 0, up_to: 5)]),
            hours: 1.0, specialist: (trade: "alignment shop", wait_days: 3, cost: 80.0), after: [(repair: "renew-joint", within: Car)],
        ),
    ],
    layouts: [(id: "all", choice: "always", name: "All", places: [
        (component: "panel", at: ["left", "right"]),
        (component: "joint", at: ["front-left", "front-right"]),
        (component: "geometry", at: ["front"]),
    ])],
)"#;

fn library() -> Library {
    let file = tinworm::rubric::parse::file("test.ron", RUBRIC).expect("a rubric");
    let mut all = builtin::library().all().clone();
    all.components = file.components;
    all.repairs = file.repairs;
    all.access_steps = file.access_steps;
    all.follow_ups = file.follow_ups;
    all.layouts = file.layouts;
    Library::unchecked(all)
}

/// The library with another bill, wait and hours for the welder.
fn welder(change: impl Fn(&mut Specialist, &mut f64)) -> Library {
    let mut all = library().all().clone();
    for repair in all.repairs.iter_mut().filter(|r| r.id == "weld-panel") {
        if let Some(specialist) = &mut repair.specialist {
            change(specialist, &mut repair.hours);
        }
    }
    Library::unchecked(all)
}

/// Saturdays of six hours; what is named is graded.
fn car(grades: &[(&str, u8)]) -> Car {
    let mut car = super::whole_loop::car(&[], 6.0);
    car.parts.clear();
    car.profile.layout.clear();
    for (part, digit) in grades {
        let check = match part.split('@').next() {
            Some("panel") => "metal",
            Some("joint") => "play",
            _ => "feathering",
        };
        super::whole_loop::graded_by(&library(), &mut car, SPRING, part, check, *digit);
    }
    car
}

fn planned(car: &Car, library: &Library) -> Plan {
    plan(car, library, &assess(car, library, TODAY))
}

fn visit_of<'a>(plan: &'a Plan, part: &str) -> &'a Visit {
    let does = |v: &&Visit| v.work.iter().any(|w| w.covers.contains(&id(part)));
    plan.visits.iter().find(does).expect("a visit for it")
}

fn because(plan: &Plan, part: &str) -> Option<NotPlacedBecause> {
    plan.not_placed.iter().find(|n| n.part == id(part)).map(|n| n.because)
}

/// No visit holds work of the owner and of a trade, or of two trades; a booking's sessions are its own.
fn hands_are_kept_apart(plan: &Plan) {
    let mut taken: Vec<Date> = Vec::new();
    for visit in &plan.visits {
        let trade = visit.booking.as_ref().map(|b| b.trade.as_str());
        assert!(
            visit.work.iter().all(|w| w.trade.as_deref() == trade),
            "{:?}",
            visit.work
        );
        for day in [visit.date]
            .iter()
            .chain(visit.booking.as_ref().map_or(&[][..], |_| &visit.runs_on))
        {
            assert!(!taken.contains(day), "{day} is taken twice");
            taken.push(*day);
        }
    }
}

#[test]
fn welding_is_booked_after_its_wait_and_takes_the_cars_place_but_no_hours() {
    let (library, car) = (library(), car(&[("panel@left", 5), ("joint@front-left", 4)]));
    let plan = planned(&car, &library);
    hands_are_kept_apart(&plan);
    let welding = visit_of(&plan, "panel@left");
    // Today is Sunday 12 April 2026; three weeks on is Sunday 3 May.
    assert_eq!(welding.date, date(2026, 5, 9));
    let booking = welding.booking.as_ref().expect("a booking");
    assert_eq!(
        (
            booking.trade.as_str(),
            booking.book_by,
            booking.away_until,
            booking.labour
        ),
        ("welder", date(2026, 4, 18), date(2026, 5, 16), 300.0)
    );
    assert!(
        welding
            .why
            .contains(&Why::WaitsForTrade("welder".to_owned(), date(2026, 5, 9)))
    );
    assert_eq!((welding.hours.mean, welding.hours.high), (9.0, 9.0));
    assert_eq!(welding.cost, 340.0);
    assert_eq!(welding.order_by, Some(date(2026, 5, 4)));
    assert!(welding.access.is_empty() && welding.tools.is_empty() && welding.soak.is_empty());
    assert!(welding.tightening.is_empty() && welding.runs_on.is_empty());
    assert_eq!(welding.follow_ups.len(), 1, "to be agreed with them");
    // The owner's visit is as it is without any welding.
    let joint = visit_of(&plan, "joint@front-left");
    let mut alone = car.clone();
    alone.surveys.clear();
    super::whole_loop::graded_by(&library, &mut alone, SPRING, "joint@front-left", "play", 4);
    let alone = planned(&alone, &library);
    assert_eq!(joint.date, date(2026, 4, 18));
    assert_eq!(joint.hours, visit_of(&alone, "joint@front-left").hours);
    assert_eq!(joint.booking, None);
    assert!(plan.proven_best && plan.bound <= plan.exposure + 1e-9);
}

#[test]
fn a_car_that_is_away_is_not_worked_on() {
    // Six joints' worth of work for many Saturdays, and a hundred hours of welding: 40 a week.
    let library = welder(|specialist, hours| {
        specialist.wait_days = 0;
        *hours = 100.0;
    });
    let car = car(&[("panel@left", 5), ("joint@front-left", 4), ("joint@front-right", 4)]);
    let plan = planned(&car, &library);
    hands_are_kept_apart(&plan);
    let welding = visit_of(&plan, "panel@left");
    let booking = welding.booking.as_ref().expect("a booking");
    assert_eq!(welding.runs_on.len(), 2, "{:?}", welding.runs_on);
    let last = *welding.runs_on.last().expect("a day");
    assert_eq!(booking.away_until, last.saturating_add(jiff::Span::new().days(7)));
    for visit in plan.visits.iter().filter(|v| v.booking.is_none()) {
        assert!(
            visit.date < welding.date || visit.date >= booking.away_until,
            "{}",
            visit.date
        );
    }
}

#[test]
fn one_trade_shares_a_booking_and_what_must_come_first_is_done_at_home_before() {
    let (library, car) = (
        library(),
        car(&[
            ("panel@left", 4),
            ("panel@right", 4),
            ("joint@front-left", 3),
            ("geometry@front", 5),
        ]),
    );
    let plan = planned(&car, &library);
    hands_are_kept_apart(&plan);
    let welding = visit_of(&plan, "panel@left");
    assert_eq!(welding.work.len(), 2);
    assert!(welding.why.contains(&Why::SharesBooking(2)), "{:?}", welding.why);
    assert_eq!(welding.booking.as_ref().map(|b| b.labour), Some(600.0));
    assert_eq!(welding.hours.mean, 18.0);
    assert_eq!(welding.follow_ups.len(), 1);
    let geometry = visit_of(&plan, "geometry@front");
    assert_eq!(
        geometry.booking.as_ref().map(|b| b.trade.as_str()),
        Some("alignment shop")
    );
    assert!(geometry.date > visit_of(&plan, "joint@front-left").date);
}

#[test]
fn bookings_of_one_trade_that_follow_each_other_are_one_stay() {
    let library = welder(|_, hours| *hours = 30.0);
    let car = car(&[("panel@left", 5), ("panel@right", 5)]);
    let plan = planned(&car, &library);
    hands_are_kept_apart(&plan);
    assert_eq!(plan.visits.len(), 1);
    let visit = &plan.visits[0];
    assert_eq!(
        (visit.work.len(), visit.runs_on.as_slice()),
        (2, &[date(2026, 5, 16)][..])
    );
    let booking = visit.booking.as_ref().expect("a booking");
    assert_eq!(
        (booking.book_by, booking.away_until),
        (date(2026, 4, 18), date(2026, 5, 23))
    );
}

#[test]
fn the_bill_counts_against_the_money() {
    let budget = |in_hand: f64, per_month: f64| Budget {
        in_hand,
        per_month,
        since: None,
        currency: "€".to_owned(),
        limited: true,
    };
    let library = library();
    let mut car = car(&[("panel@left", 5)]);
    car.profile.budget = budget(100.0, 100.0);
    let plan = planned(&car, &library);
    let welding = visit_of(&plan, "panel@left");
    // 340 in all: three months' saving, not the one that the patch alone would need.
    assert_eq!(welding.date, date(2026, 7, 18));
    assert!(
        welding.why.contains(&Why::WaitsForMoney(welding.date)),
        "{:?}",
        welding.why
    );
    assert_eq!(
        welding.booking.as_ref().map(|b| b.book_by),
        Some(date(2026, 6, 27)),
        "rung three weeks before its own day"
    );
    car.profile.budget = budget(339.0, 0.0);
    let plan = planned(&car, &library);
    assert_eq!(because(&plan, "panel@left"), Some(NotPlacedBecause::NoMoney));
    car.profile.budget = budget(340.0, 0.0);
    assert_eq!(visit_of(&planned(&car, &library), "panel@left").date, date(2026, 5, 9));
}

#[test]
fn what_finds_no_place_says_why() {
    let (shipped, mut car) = (
        library(),
        car(&[("panel@left", 5), ("joint@front-left", 4), ("geometry@front", 5)]),
    );
    let late = welder(|specialist, _| specialist.wait_days = 3000);
    let plan = planned(&car, &late);
    assert_eq!(because(&plan, "panel@left"), Some(NotPlacedBecause::CalendarEnds));
    assert_eq!(because(&plan, "joint@front-left"), None);
    car.wishes.pinned.insert(id("panel@left"), date(2026, 4, 25));
    let plan = planned(&car, &shipped);
    assert_eq!(because(&plan, "panel@left"), Some(NotPlacedBecause::PinnedDay));
    car.profile.budget.limited = true;
    car.profile.budget.in_hand = 20.0;
    let plan = planned(&car, &shipped);
    assert_eq!(because(&plan, "joint@front-left"), Some(NotPlacedBecause::NoMoney));
    assert_eq!(
        because(&plan, "geometry@front"),
        Some(NotPlacedBecause::WaitsForUnplaced)
    );
    car.profile.sessions.weekdays.clear();
    let plan = planned(&car, &shipped);
    assert_eq!(because(&plan, "panel@left"), Some(NotPlacedBecause::NoSession));
}

#[test]
fn a_long_wait_is_planned_for_in_a_calendar_of_daily_sessions() {
    let library = welder(|specialist, _| specialist.wait_days = 120);
    let mut car = car(&[("panel@left", 5), ("joint@front-left", 4)]);
    car.profile.sessions.weekdays = tinworm::car::Day::ALL.to_vec();
    let plan = planned(&car, &library);
    let welding = visit_of(&plan, "panel@left");
    assert_eq!(welding.date, date(2026, 8, 10));
    // Nine hours in days of eight; the owner's days in between are taken.
    assert_eq!(welding.booking.as_ref().map(|b| b.away_until), Some(date(2026, 8, 12)));
    car.wishes.pinned.insert(id("panel@left"), date(2026, 10, 1));
    assert_eq!(visit_of(&planned(&car, &library), "panel@left").date, date(2026, 10, 1));
}

#[test]
fn a_laid_up_car_is_back_on_the_road_when_it_is_back_from_the_welder() {
    let mut car = car(&[("panel@left", 5)]);
    car.profile.in_use = Use::LaidUp;
    assert_eq!(planned(&car, &library()).back_on_the_road, Some(date(2026, 5, 16)));
}

#[test]
fn a_home_repair_competes_with_a_specialists_bill_and_the_owner_decides() {
    // Twelve hours at home against a bill of 300: an even match at 25 an hour.
    let with_home = |hours: f64| {
        let mut all = library().all().clone();
        let mut home = all.repairs[1].clone();
        home.id = "patch-at-home".to_owned();
        home.component = "panel".to_owned();
        home.hours = hours;
        all.repairs.push(home);
        Library::unchecked(all)
    };
    let mut car = car(&[("panel@left", 5)]);
    let chosen = |car: &Car, library: &Library| {
        let plan = planned(car, library);
        let work = visit_of(&plan, "panel@left").work[0].clone();
        (work.repair, work.instead)
    };
    let pair = |a: &str, b: &str| (a.to_owned(), vec![b.to_owned()]);
    assert_eq!(chosen(&car, &with_home(11.9)), pair("patch-at-home", "weld-panel"));
    assert_eq!(chosen(&car, &with_home(12.1)), pair("weld-panel", "patch-at-home"));
    car.wishes.chosen.insert(id("panel@left"), "patch-at-home".to_owned());
    assert_eq!(chosen(&car, &with_home(40.0)), pair("patch-at-home", "weld-panel"));
}

#[test]
fn the_worksheet_says_who_when_to_ring_and_what_to_do_before() {
    let (library, car) = (library(), car(&[("panel@left", 5), ("joint@front-left", 4)]));
    let assessment = assess(&car, &library, TODAY);
    let plan = plan(&car, &library, &assessment);
    let subject = Subject {
        car: &car,
        library: &library,
        assessment: &assessment,
    };
    let text = report::plan::text(
        &subject,
        &plan,
        Paper {
            width: 200,
            ..Paper::default()
        },
    );
    for said in [
        "with a welder: book by Saturday 2026-04-18, the car is away until Saturday 2026-05-16",
        "Saturday 2026-05-09, with a welder",
        "Book by     Saturday 2026-04-18",
        "about 9.0 h of the welder's, none of yours",
        "Cost        about € 340, of it € 300 for the welder's work",
        "Order by    Monday 2026-05-04",
        "Strip the carpet and unclip the pipes before the car goes.",
        "Seal and wax, whole car (2.0 h); agree who does it",
        "the welder has no day before 2026-05-09",
    ] {
        assert!(text.contains(said), "{said:?} is missing in\n{text}");
    }
    assert!(
        !text.contains("welding set") && !text.contains("carrier bolt"),
        "{text}"
    );
    let csv = report::plan::csv(&subject, &plan);
    assert!(csv.contains(",welder,2026-04-18,2026-05-16,"), "{csv}");
    let json = report::plan::json(&subject, &plan).expect("JSON");
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    let booking = &json["visits"][1]["booking"];
    assert_eq!(booking["trade"], "welder");
    assert_eq!(
        (&booking["book_by"], &booking["away_until"]),
        (&"2026-04-18".into(), &"2026-05-16".into())
    );
    assert!(json["visits"][0]["booking"].is_null());
}
