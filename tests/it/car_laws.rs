//! What must hold for every car: nothing but numbers comes out whatever is put in, and worse is never better.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::sync::LazyLock;

use jiff::ToSpan;
use jiff::civil::Date;
use proptest::prelude::*;
use tinworm::car::{Car, Look, RepairDone, Seen, Survey, Use};
use tinworm::engine::Assessment;
use tinworm::engine::assess::assess;
use tinworm::engine::plan::plan;
use tinworm::rubric::Library;
use tinworm::units::Grade;

use super::small_library::{SIX, april, car, library, part};

const TODAY: Date = Date::constant(2026, 4, 1);
const PARTS: usize = 2;

/// Rust graded, play measured, rubber asked about; all three may bring the part down.
fn checks(life: f64, severity: &str) -> Library {
    let one = |id: &str, kind: &str, driver: &str, more: &str| {
        format!(
            "(id: \"{id}\", name: \"{id}\", stage: Underneath, kind: {kind}, how: \"Look.\", decline: (driver: {driver}, life: {life:?}, source: \"test\"{more})),"
        )
    };
    let all = [
        one("rust", SIX, "Corrosion(Coated)", ""),
        one(
            "play",
            "Measured((unit: \"mm\", instrument: \"gauge\", sd: 0.1, new: 0.0, limit: 1.5, source: \"test\"))",
            "Wear",
            ", jumpiness: 0.3",
        ),
        one(
            "rubber",
            "YesNo((question: \"Is it torn?\", yes: \"Torn\", no: \"Whole\"))",
            "Ageing",
            "",
        ),
    ];
    let mode = format!(
        "(id: \"gone\", what: \"It comes off.\", severity: {severity}, driven_by: [\"rust\", \"play\", \"rubber\"])"
    );
    library(PARTS, &all.concat(), &mode)
}

static USUAL: LazyLock<Library> = LazyLock::new(|| checks(12.0, "Critical"));

fn look(nth: usize, check: &str, seen: Seen) -> Look {
    Look {
        part: part(nth),
        check: check.to_owned(),
        seen,
        note: String::new(),
        photos: Vec::new(),
    }
}

fn grade(digit: u8) -> Seen {
    Seen::Grade(Grade::new(digit).unwrap())
}

/// A survey so many days before today.
fn survey(days: i32, km: Option<f64>, looks: Vec<Look>) -> Survey {
    let mut survey = Survey::new(TODAY.checked_sub(days.days()).unwrap(), km);
    survey.looks = looks;
    survey
}

/// Every number of an assessment is one, and what must rise rises.
fn sound(assessment: &Assessment) -> Result<(), TestCaseError> {
    let finite = |name: &str, numbers: &[f64]| {
        prop_assert!(numbers.iter().all(|n| n.is_finite()), "{name}: {numbers:?}");
        Ok(())
    };
    for part in &assessment.parts {
        finite("points", &[part.points, part.unknown_points])?;
        finite("exposure", &part.exposure.points)?;
        prop_assert!(
            part.exposure.points.windows(2).all(|p| p[0] <= p[1]),
            "exposure never falls"
        );
        prop_assert!(part.draws.iter().all(|d| d.is_finite()));
        finite("causes", &part.causes.iter().map(|c| c.points).collect::<Vec<_>>())?;
        for check in &part.checks {
            let (d, y) = (check.damage, check.years_left);
            finite(
                "damage",
                &[
                    d.low,
                    d.mid,
                    d.high,
                    check.grades_per_year,
                    check.quickened,
                    check.rests_on_looks,
                ],
            )?;
            prop_assert!(d.low <= d.mid && d.mid <= d.high && check.past_limit_now <= check.past_limit_then + 1e-9);
            prop_assert!(
                (check.grades.iter().sum::<f64>() - 1.0).abs() < 1e-6,
                "{:?}",
                check.grades
            );
            finite(
                "years",
                &[y.soon, y.mid, y.late].into_iter().flatten().collect::<Vec<_>>(),
            )?;
            if let Some(change) = check.change {
                prop_assert!((0.0..=1.0).contains(&change.probability));
            }
        }
    }
    for pace in &assessment.pace {
        finite("pace", &[pace.times.low, pace.times.mid, pace.times.high])?;
    }
    finite(
        "offsets",
        &assessment.survey_offsets.iter().map(|o| o.offset).collect::<Vec<_>>(),
    )?;
    finite(
        "looks",
        &assessment.look_next.iter().map(|l| l.moves).collect::<Vec<_>>(),
    )
}

/// Any look: of either part, of any check.
fn any_look() -> impl Strategy<Value = Look> {
    let seen = prop_oneof![
        (0u8..6).prop_map(|digit| ("rust", grade(digit))),
        prop_oneof![-1.0f64..9.0, Just(0.0), Just(1e9), Just(-1e9)].prop_map(|mm| ("play", Seen::Reading(vec![mm]))),
        any::<bool>().prop_map(|yes| ("rubber", Seen::Answer(yes))),
        Just(("rust", Seen::Not(tinworm::car::NotSeen::Covered))),
    ];
    (0..PARTS, seen).prop_map(|(nth, (check, seen))| look(nth, check, seen))
}

/// Surveys in any order, some of the same date, their odometers free to run backwards.
fn any_surveys() -> impl Strategy<Value = Vec<Survey>> {
    let days = prop_oneof![0i32..9000, Just(0), Just(365)];
    let km = prop::option::of(prop_oneof![0.0f64..400_000.0, Just(0.0)]);
    let one = (days, km, prop::collection::vec(any_look(), 0..8)).prop_map(|(days, km, looks)| survey(days, km, looks));
    prop::collection::vec(one, 0..14)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, max_shrink_iters: 60, failure_persistence: None, ..ProptestConfig::default() })]

    /// 0 to about 100 looks, dates in any order and equal, odometers that run backwards, no kilometres a year, lives of an hour and of a thousand
    /// years, a car laid up or not.
    #[test]
    fn nothing_but_numbers_comes_out(
        surveys in any_surveys(),
        life in prop::sample::select(vec![1e-3, 0.5, 12.0, 1000.0]),
        yearly_km in prop::sample::select(vec![0.0, 8000.0, 200_000.0]),
        laid_up in any::<bool>(),
        fitted in prop::option::of(0i32..20_000),
        salt_factor in prop::sample::select(vec![0.0, 1.0, 5.0]),
    ) {
        let library = checks(life, "Critical");
        let mut car = car(PARTS);
        car.profile.yearly_km = yearly_km;
        car.profile.in_use = if laid_up { Use::LaidUp } else { Use::InUse };
        car.profile.salt_factor = salt_factor;
        car.profile.salted_months = vec![1, 2, 12];
        car.parts.get_mut(&part(0)).unwrap().fitted = fitted.map(|days| TODAY.checked_sub(days.days()).unwrap());
        car.surveys = surveys;
        let assessment = assess(&car, &library, TODAY);
        sound(&assessment)?;
        let _ = plan(&car, &library, &assessment);
        // In order of time it is the same car.
        let mut sorted = car.clone();
        sorted.surveys.sort_by_key(|s| s.date);
        let dates: std::collections::BTreeSet<Date> = sorted.surveys.iter().map(|s| s.date).collect();
        if dates.len() == sorted.surveys.len() {
            let sorted = assess(&sorted, &library, TODAY);
            for (a, b) in assessment.parts.iter().zip(&sorted.parts) {
                prop_assert_eq!(a.points, b.points);
            }
        }
        let mut km: Vec<(Date, f64)> = car.surveys.iter().filter_map(|s| Some((s.date, s.odometer_km?))).collect();
        km.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let fell = km.windows(2).filter(|p| p[1].1 < p[0].1 - 1.0).count();
        prop_assert_eq!(assessment.odometer_falls.len(), fell, "each is asked about");
    }

    #[test]
    fn a_worse_newest_grade_never_lowers_the_points(
        before in prop::collection::vec((400i32..5000, 0u8..6), 0..4), days in 0i32..400, play in 0.0f64..1.5
    ) {
        let mut least = 0.0;
        for digit in 0..6 {
            let points = points_with(&before, days, digit, play, |_| {}, &USUAL);
            prop_assert!(points >= least * (1.0 - 1e-6) - 1e-9, "{digit}: {points} after {least}");
            least = points;
        }
    }

    #[test]
    fn a_higher_severity_never_lowers_the_points(
        before in prop::collection::vec((400i32..5000, 0u8..6), 0..3), days in 0i32..400, digit in 0u8..6, play in 0.0f64..1.5
    ) {
        static SEVERITIES: LazyLock<Vec<Library>> = LazyLock::new(|| {
            ["Negligible", "Marginal", "Critical", "Catastrophic"].map(|s| checks(12.0, s)).to_vec()
        });
        let points = SEVERITIES.iter().map(|library| points_with(&before, days, digit, play, |_| {}, library));
        prop_assert!(points.collect::<Vec<f64>>().is_sorted());
    }

    /// More kilometres a year, more salt, a harsher climate: the grid of rates stands still while the clock moves over it, so a
    /// hundredth of the points is left to it.
    #[test]
    fn a_faster_clock_and_a_longer_wait_never_lower_the_points(
        before in prop::collection::vec((400i32..5000, 0u8..6), 0..3), days in 0i32..400, digit in 0u8..6, play in 0.0f64..1.5
    ) {
        let points = |change: &dyn Fn(&mut Car)| points_with(&before, days, digit, play, change, &USUAL);
        let usual = points(&|_| {});
        let faster: [(&str, &dyn Fn(&mut Car)); 4] = [
            ("kilometres", &|c| c.profile.yearly_km = 20_000.0),
            ("salt", &|c| c.profile.salted_months = vec![11, 12, 1, 2, 3]),
            ("climate", &|c| c.profile.climate = "C5".to_owned()),
            ("wait", &|c| c.profile.next_survey = Some(april(2029))),
        ];
        for (what, change) in faster {
            let points = points(change);
            prop_assert!(points >= usual * 0.99 - 1e-9, "{what}: {points} after {usual}");
        }
    }

    /// Renewing what shows at least grade 3. (Renewing what has shown itself good for years may raise the points: of the new part only the
    /// rubric's usual life is known, its one chance in ten to be a bad one too.)
    #[test]
    fn renewing_a_bad_part_never_raises_the_total(
        before in prop::collection::vec((400i32..5000, 0u8..6), 0..3), days in 1i32..400, digit in 3u8..6, play in 0.0f64..1.5
    ) {
        let mut car = graded_car(&before, days, digit, play);
        let total = |car: &Car| assess(car, &USUAL, TODAY).parts.iter().map(|p| p.points).sum::<f64>();
        let as_it_is = total(&car);
        car.repairs.push(RepairDone::new(TODAY, "renew-thing-0", part(0)));
        let renewed = total(&car);
        prop_assert!(renewed <= as_it_is * (1.0 + 1e-6) + 1e-9, "{renewed} after {as_it_is}");
    }
}

/// A car whose first part was graded so before, and so, with play, a number of days ago.
fn graded_car(before: &[(i32, u8)], days: i32, digit: u8, play: f64) -> Car {
    let mut car = car(PARTS);
    for (ago, digit) in before {
        car.surveys
            .push(survey(*ago, None, vec![look(0, "rust", grade(*digit))]));
    }
    let newest = vec![
        look(0, "rust", grade(digit)),
        look(0, "play", Seen::Reading(vec![play])),
        look(0, "rubber", Seen::Answer(false)),
    ];
    car.surveys.push(survey(days, None, newest));
    car.surveys.sort_by_key(|s| s.date);
    car
}

fn points_with(
    before: &[(i32, u8)],
    days: i32,
    digit: u8,
    play: f64,
    change: impl Fn(&mut Car),
    library: &Library,
) -> f64 {
    let mut car = graded_car(before, days, digit, play);
    change(&mut car);
    assess(&car, library, TODAY).part(&part(0)).unwrap().points
}

/// A replaced odometer is asked about in words, and its wear is not lost.
#[test]
fn an_odometer_that_ran_backwards_is_asked_about_in_words() {
    let mut car = graded_car(&[], 30, 2, 0.4);
    car.surveys.insert(0, survey(700, Some(180_000.0), Vec::new()));
    car.surveys[1].odometer_km = Some(1_200.0);
    let assessment = assess(&car, &USUAL, TODAY);
    assert_eq!(assessment.odometer_falls.len(), 1);
    let subject = tinworm::report::Subject {
        car: &car,
        library: &USUAL,
        assessment: &assessment,
    };
    let text = tinworm::report::standing::text(&subject, tinworm::report::Paper::default());
    assert!(
        text.contains("The odometer ran backwards") && text.contains("was one of them misread"),
        "{text}"
    );
}
