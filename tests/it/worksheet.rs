//! The worksheet: everything a visit asks for stands on it once, in an order one can work in, and nothing on it is invented.

#![allow(clippy::unwrap_used, clippy::panic)]

mod faces;
mod halfway;

use std::sync::OnceLock;

use tinworm::car::{Car, Change, OwnTorque, PartNote, Use};
use tinworm::demo;
use tinworm::engine::plan::{Plan, plan};
use tinworm::engine::{Assessment, assess::assess};
use tinworm::report::Subject;
use tinworm::report::worksheet::{Step, StepKind, Worksheet, worksheet};
use tinworm::rubric::{Library, Locking, Tightened, builtin};

/// A car with what is reckoned of it.
pub struct Told {
    pub car: Car,
    pub library: Library,
    pub assessment: Assessment,
    pub plan: Plan,
}

impl Told {
    pub fn of(car: Car, library: Library) -> Told {
        let assessment = assess(&car, &library, demo::today());
        let plan = plan(&car, &library, &assessment);
        Told {
            car,
            library,
            assessment,
            plan,
        }
    }

    /// The same plan told with other rubrics, without planning anew.
    pub fn with(&self, car: Car, library: Library) -> Told {
        Told {
            car,
            library,
            assessment: self.assessment.clone(),
            plan: self.plan.clone(),
        }
    }

    pub fn subject(&self) -> Subject<'_> {
        Subject {
            car: &self.car,
            library: &self.library,
            assessment: &self.assessment,
        }
    }

    pub fn sheet(&self, nth: usize) -> Worksheet {
        worksheet(&self.subject(), &self.plan, nth).unwrap()
    }

    pub fn sheets(&self) -> Vec<Worksheet> {
        (0..self.plan.visits.len()).map(|nth| self.sheet(nth)).collect()
    }
}

/// The demo car, reckoned once.
pub fn demo_car() -> &'static Told {
    static TOLD: OnceLock<Told> = OnceLock::new();
    TOLD.get_or_init(|| Told::of(demo::car(), builtin::library().clone()))
}

/// The demo car with nothing but its front suspension and steering, so that it is planned quickly.
fn front_only() -> Car {
    let mut car = demo::car();
    let gone = PartNote {
        not_fitted: true,
        ..PartNote::default()
    };
    let kept = ["lower-arm", "track-rod-end", "drop-link"];
    for id in car.part_ids(builtin::library()) {
        if !kept.contains(&id.component.as_str()) {
            car.apply(Change::Part(id, gone.clone())).unwrap();
        }
    }
    car
}

/// The demo car's visit that renews the left front arm: one corner.
pub fn corner() -> Worksheet {
    let told = demo_car();
    let nth = told
        .plan
        .visits
        .iter()
        .position(|v| v.work.iter().any(|w| w.part.to_string() == "lower-arm@front-left"))
        .unwrap();
    told.sheet(nth)
}

fn sorted<T: Ord>(mut list: Vec<T>) -> Vec<T> {
    list.sort();
    list
}

#[test]
fn every_part_tool_caution_and_fixing_stands_on_the_sheet_once() {
    let told = demo_car();
    assert!(told.plan.visits.iter().any(|v| v.booking.is_some()));
    assert!(told.plan.visits.iter().filter(|v| !v.tightening.is_empty()).count() > 3);
    for (visit, sheet) in told.plan.visits.iter().zip(told.sheets()) {
        let buy: Vec<(u32, String)> = sheet.ready.buy.iter().map(|b| (b.count, b.name.clone())).collect();
        let asked: Vec<(u32, String)> = visit.buy.iter().map(|b| (b.count, b.name.clone())).collect();
        assert_eq!(buy, asked);

        let lacking = sheet.tools.lacking.iter().map(|t| t.name.clone());
        let tools = sorted(lacking.chain(sheet.tools.owned.iter().cloned()).collect());
        assert_eq!(tools, sorted(visit.tools.clone()), "visit {}", sheet.number);

        let texts: Vec<&String> = sheet.steps.iter().flat_map(|s| &s.cautions).collect();
        for id in &visit.cautions {
            let text = &told.library.caution(id).unwrap().text;
            let times = texts.iter().filter(|t| **t == text).count();
            assert_eq!(times, 1, "visit {}: caution {id}", sheet.number);
        }

        let places = sorted(sheet.tightening.iter().map(|row| row.place).collect());
        let all: Vec<usize> = (0..visit.tightening.len()).collect();
        assert_eq!(places, all, "visit {}", sheet.number);
        let rows: Vec<usize> = (1..=sheet.tightening.len()).collect();
        let undone = sorted(sheet.steps.iter().flat_map(|s| &s.undo).map(|u| u.row).collect());
        assert_eq!(undone, rows, "visit {}: each fixing is undone once", sheet.number);
        let tightened = sorted(sheet.steps.iter().flat_map(|s| s.tighten.clone()).collect());
        assert_eq!(tightened, rows, "visit {}: each fixing is tightened once", sheet.number);

        let soaked: Vec<_> = visit.soak.iter().map(|s| s.on).collect();
        assert_eq!(sheet.ready.soak.iter().map(|s| s.on).collect::<Vec<_>>(), soaked);

        for opened in &visit.access {
            let name = &told.library.access_step(&opened.step).unwrap().name;
            let title = format!("{}, {}", tinworm::report::words::small(name), opened.station.words());
            let plain = title.trim_end_matches(", whole car");
            for kind in [StepKind::Open, StepKind::Close] {
                let times = sheet
                    .steps
                    .iter()
                    .filter(|s| s.kind == kind && (s.title.ends_with(&title) || s.title.ends_with(plain)))
                    .count();
                assert_eq!(times, 1, "visit {}: {kind:?} {title}", sheet.number);
            }
        }
        let works: usize = visit.work.iter().map(|w| w.on.len()).sum();
        let asked_for = [StepKind::Repair, StepKind::AskFor];
        assert_eq!(
            sheet.steps.iter().filter(|s| asked_for.contains(&s.kind)).count(),
            works,
            "visit {}",
            sheet.number
        );
    }
}

#[test]
fn renewals_are_counted_from_the_fixings_that_are_used_once() {
    let told = demo_car();
    let mut some = 0;
    for (visit, sheet) in told.plan.visits.iter().zip(told.sheets()) {
        let once = visit.tightening.iter().filter_map(|t| {
            let fixing = &told.library.repair(&t.repair).unwrap().fixings[t.fixing];
            let plain = matches!(fixing.locking, Locking::Plain | Locking::LockNut);
            (!plain).then_some(fixing.count)
        });
        let counted: u32 = sheet.ready.renew.iter().map(|r| r.count).sum();
        assert_eq!(counted, once.sum::<u32>());
        some += counted;
    }
    assert!(some > 0);
}

#[test]
fn tools_not_owned_come_first_with_the_visit_that_first_needs_them() {
    let told = demo_car();
    let mut repeated = 0;
    for (nth, sheet) in told.sheets().iter().enumerate() {
        for tool in &sheet.tools.lacking {
            let first = told
                .plan
                .visits
                .iter()
                .position(|v| v.tools_missing.contains(&tool.name))
                .unwrap();
            assert_eq!((tool.visit, tool.date), (first + 1, told.plan.visits[first].date));
            repeated += usize::from(first < nth);
        }
        let text = faces::plain(sheet);
        let (lacking, owned) = (text.find("[ ] not owned:"), text.find("Owned, lay out:"));
        if let (Some(lacking), Some(owned)) = (lacking, owned) {
            assert!(lacking < owned);
        }
    }
    assert!(repeated > 0, "a tool lacking twice names the first of the visits");
}

#[test]
fn soaking_begins_before_the_day_and_never_before_today() {
    let mut soaked = 0;
    for sheet in demo_car().sheets() {
        for soak in &sheet.ready.soak {
            assert!(soak.on < sheet.date && soak.on >= demo::today(), "{soak:?}");
            soaked += 1;
        }
    }
    assert!(soaked > 3);
}

#[test]
fn pivots_through_rubber_are_tightened_at_ride_height_and_nowhere_else() {
    let mut pivots = 0;
    for sheet in demo_car().sheets() {
        for row in &sheet.tightening {
            let at: Vec<&Step> = sheet.steps.iter().filter(|s| s.tighten.contains(&row.number)).collect();
            let kind = match row.when {
                Tightened::AtOnce => StepKind::Repair,
                Tightened::AtRideHeight => StepKind::RideHeight,
                Tightened::OnTheGround => StepKind::OnTheGround,
            };
            assert_eq!(at.iter().map(|s| s.kind).collect::<Vec<_>>(), [kind], "{row:?}");
            pivots += usize::from(row.when == Tightened::AtRideHeight);
        }
        let last_close = sheet.steps.iter().rposition(|s| s.kind == StepKind::Close);
        let height = sheet.steps.iter().position(|s| s.kind == StepKind::RideHeight);
        if let (Some(close), Some(height)) = (last_close, height) {
            assert!(close < height, "weight on the wheels only once everything is closed");
        }
    }
    assert!(pivots > 1);
}

#[test]
fn what_is_opened_nests_and_is_closed_in_reverse() {
    let told = demo_car();
    for sheet in told.sheets() {
        let name = |step: &Step| step.title.split_once(": ").unwrap().1.to_owned();
        let of = |kind| sheet.steps.iter().filter(move |s| s.kind == kind);
        let opened: Vec<String> = of(StepKind::Open).map(name).collect();
        let closed: Vec<String> = of(StepKind::Close).map(name).collect();
        assert_eq!(opened.iter().rev().cloned().collect::<Vec<_>>(), closed);
        for step in &told.library.all().access_steps {
            let small = tinworm::report::words::small(&step.name);
            let at = |name: &str| opened.iter().position(|o| o.starts_with(name));
            let Some(place) = at(&small) else { continue };
            for needed in &step.needs {
                let needed = tinworm::report::words::small(&told.library.access_step(needed).unwrap().name);
                assert!(at(&needed).unwrap() < place, "{needed} before {small}");
            }
        }
    }
    let corner = corner();
    let deepest = corner
        .steps
        .iter()
        .filter(|s| s.kind == StepKind::Open)
        .map(|s| s.depth)
        .max();
    assert_eq!(deepest, Some(2), "stands, wheel, joints");
}

#[test]
fn without_a_class_there_is_a_blank_and_no_guide() {
    let told = demo_car();
    let mut library = told.library.all().clone();
    for repair in &mut library.repairs {
        for fixing in &mut repair.fixings {
            fixing.class = None;
        }
    }
    let bare = Told::of(front_only(), Library::unchecked(library));
    let mut rows = 0;
    for sheet in bare.sheets() {
        assert!(sheet.tightening.iter().all(|r| r.guide.is_none() && r.manual.is_none()));
        let text = faces::plain(&sheet);
        assert_eq!(text.matches("manual ________ N·m").count(), sheet.tightening.len());
        assert_eq!(
            text.matches("no guide: thread or class not known").count(),
            sheet.tightening.len()
        );
        assert!(!text.contains("N·m dry"), "{text}");
        rows += sheet.tightening.len();
    }
    assert!(rows > 3);
}

#[test]
fn the_manuals_value_is_printed_once_it_is_entered_and_a_guide_never_takes_its_place() {
    let sheet = corner();
    assert!(sheet.tightening.iter().all(|r| r.manual.is_none()));
    assert!(sheet.tightening.iter().any(|r| r.guide.is_some()));
    let row = sheet.tightening[0].clone();
    let mut car = demo::car();
    let own = OwnTorque {
        fixing: row.name.clone(),
        torque: tinworm::units::Torque::parse("61.5 Nm").unwrap(),
        source: "workshop manual".to_owned(),
    };
    car.apply(Change::Torque(row.part.clone(), own)).unwrap();
    let told = demo_car().with(car, builtin::library().clone());
    let entered = told.sheet(sheet.number - 1);
    assert_eq!(entered.tightening[0].manual.as_deref(), Some("61.5 N·m"));
    assert!(faces::plain(&entered).contains("manual 61.5 N·m"));
    assert!(tinworm::report::worksheet::html::page(&entered).contains("<b>61.5 N·m</b>"));
    assert!(entered.tightening[1..].iter().all(|r| r.manual.is_none()));
}

#[test]
fn the_car_laid_up_keeps_open_what_a_later_visit_needs() {
    let mut car = front_only();
    car.profile.in_use = Use::LaidUp;
    let told = Told::of(car, builtin::library().clone());
    let sheets = told.sheets();
    assert!(sheets.iter().any(|s| !s.stays_open.is_empty()));
    assert!(sheets.iter().any(|s| !s.already_open.is_empty()));
    let mut open: Vec<String> = Vec::new();
    for sheet in &sheets {
        for already in &sheet.already_open {
            assert!(
                open.contains(&tinworm::report::words::small(already)),
                "{already}: {open:?}"
            );
        }
        for step in &sheet.steps {
            match (step.kind, step.title.split_once(": ")) {
                (StepKind::Open, Some((_, name))) => open.push(name.to_owned()),
                (StepKind::Close, Some((_, name))) => {
                    assert!(open.iter().any(|o| o == name), "{name} was not open");
                    open.retain(|o| o != name);
                }
                _ => {}
            }
        }
    }
    assert_eq!(open, Vec::<String>::new(), "everything is closed in the end");
}

#[test]
fn spares_are_asked_for_where_threads_are_bad() {
    let told = demo_car();
    let mut spares = 0;
    for (visit, sheet) in told.plan.visits.iter().zip(told.sheets()) {
        assert!(
            sheet
                .ready
                .shear
                .windows(2)
                .all(|w| w[0].probability >= w[1].probability)
        );
        for shear in &sheet.ready.shear {
            assert!((0.2..=1.0).contains(&shear.probability), "{shear:?}");
            spares += 1;
        }
        // A thread seen at grade 4 or 5 breaks as often as not, so it cannot be missing.
        for soak in visit.soak.iter().filter(|s| s.grade.is_some_and(|g| g.digit() >= 4)) {
            let known = sheet.ready.shear.iter().any(|s| s.what.ends_with(&soak.fixing));
            assert!(known, "{soak:?}");
        }
    }
    assert!(spares > 0);
}

#[test]
fn looks_are_at_parts_the_visit_reaches_and_does_not_renew() {
    let told = demo_car();
    let mut seen = 0;
    for (visit, sheet) in told.plan.visits.iter().zip(told.sheets()) {
        assert!(visit.booking.is_none() || sheet.looks.is_empty());
        for look in &sheet.looks {
            assert!(!visit.work.iter().any(|w| w.covers.contains(&look.part)), "{look:?}");
            let component = told.library.component(&look.part.component).unwrap();
            assert!(!component.opened_by.is_empty());
            assert!(
                visit.access.iter().any(|o| o.station.meets(&look.part.station)),
                "{look:?}"
            );
            let state = told.assessment.part(&look.part).unwrap();
            let never = state.checks.iter().filter(|c| c.last.is_none()).count();
            assert!(look.unseen.len() <= never);
            seen += look.unseen.len();
        }
    }
    assert!(seen > 0);
}

#[test]
fn a_booking_says_whom_to_ring_what_to_bring_and_what_to_ask_for() {
    let told = demo_car();
    let nth = told.plan.visits.iter().position(|v| v.booking.is_some()).unwrap();
    let (visit, sheet) = (&told.plan.visits[nth], told.sheet(nth));
    let booking = visit.booking.as_ref().unwrap();
    let kinds: Vec<StepKind> = sheet.steps.iter().map(|s| s.kind).collect();
    assert_eq!(
        (kinds.first(), kinds.last()),
        (Some(&StepKind::Arrange), Some(&StepKind::Arrange))
    );
    assert!(sheet.tightening.is_empty() && sheet.steps.iter().all(|s| s.undo.is_empty()));
    let text = faces::plain(&sheet);
    for words in [
        format!(
            "Ring a {} by {}",
            booking.trade,
            tinworm::report::words::day(booking.book_by)
        ),
        "Have the parts in hand".to_owned(),
        format!("Bring the car on {}", tinworm::report::words::day(visit.date)),
        "Ask for:".to_owned(),
        format!("Fetch it by {}", tinworm::report::words::day(booking.away_until)),
    ] {
        assert!(faces::flat(&text).contains(&words), "{words}\n{text}");
    }
    assert!(!text.contains("Stopping half-way"));
}
