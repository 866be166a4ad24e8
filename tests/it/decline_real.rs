//! Forecasts against what really happened to parts: published degradation paths, the first half of each given, the last
//! reading forecast. Sources stand in the heads of the data files.
//!
//! The protocol, the same for every set:
//!
//! * *Split*: a unit's readings up to half the test's length are given (lasers to 2000 of 4000 h, cracks to 0.06 of 0.12
//!   million cycles, wear up to the fourth of eight readings; liners, which have two or three readings, all but the last). The
//!   last reading is what is forecast. Halving each unit's own count instead gives cracks that failed early a shorter first
//!   half, and another straight-line error (0.243 instead of 0.214).
//! * *Units*: damage 0 at new, 1 at the published limit; the clock's unit stands beside each set.
//! * *Prior*: from the other units alone, and from their first halves alone: median and log-sd of their mean rates so far. The
//!   unit's own readings and everybody's second halves stay out of it. Nobody has quickened.
//! * *Scatter of a reading*: 0.01, a hundredth of the way to the limit. It hardly matters once κ > 0: from 0.005 to 0.03 the
//!   shares move by one unit.
//! * κ and ρ are not blind: κ of lasers, liners and cracks was fitted to these same sets, ρ of cracks comes from the exponent
//!   of crack growth. Sliding wear takes the κ that the program uses when nobody says otherwise.
//!
//! `tests/golden/real_paths.py` computes the same figures with numpy, without a line of this program; its results are
//! what is expected here.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeMap;

use tinworm::engine::decline::{CarFactor, Filter, Kernels, Observation, Posterior, Prior, Start};
use tinworm::rubric::Quickened;

const READING_SD: f64 = 0.01;

/// (clock, damage), from the first reading on.
type Path = Vec<(f64, f64)>;

/// The rows of a data file, without head and comments.
fn rows(text: &str) -> impl Iterator<Item = Vec<&str>> {
    let rows = text.lines().filter(|line| !line.starts_with('#') && !line.is_empty());
    rows.skip(1).map(|line| line.split(',').collect())
}

fn number(field: &str) -> f64 {
    field.parse().unwrap()
}

/// Paths by unit; clock and value stand in the last two columns.
fn paths(text: &str, clock_unit: f64, new: f64, limit: f64) -> Vec<Path> {
    let mut paths: BTreeMap<&str, Path> = BTreeMap::new();
    for row in rows(text) {
        let [.., clock, value] = row[..] else { panic!("{row:?}") };
        let damage = (number(value) - new) / (limit - new);
        paths
            .entry(row[0])
            .or_default()
            .push((number(clock) / clock_unit, damage));
    }
    paths.into_values().collect()
}

/// φ(d) = ln(1 + (ρ − 1)·d)/ln ρ, written out once more.
fn steady(quickening: f64, damage: f64) -> f64 {
    if quickening == 1.0 {
        damage
    } else {
        (1.0 + (quickening - 1.0) * damage).ln() / quickening.ln()
    }
}

/// Mean rate over the readings given, on the steady scale.
fn log_rate(path: &Path, given: usize, quickening: f64) -> f64 {
    let (clock, damage) = path[given - 1];
    (steady(quickening, damage) / clock).ln()
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    if values.len() % 2 == 1 {
        values[middle]
    } else {
        f64::midpoint(values[middle - 1], values[middle])
    }
}

fn mean_and_sd(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    (mean, (squares / (n - 1.0)).sqrt())
}

fn prior(life: f64, spread: f64, jumpiness: f64, quickening: f64) -> Prior {
    Prior {
        life,
        spread,
        quickened: Quickened {
            share: 0.0,
            ..Quickened::default()
        },
        jumpiness,
        quickening,
    }
}

/// What is known after the readings given.
fn learnt(path: &Path, given: usize, prior: &Prior, sd: f64, kernels: &Kernels) -> Posterior {
    let mut filter = Filter::new(prior, Start::At { damage: 0.0 }, kernels);
    let mut clock = 0.0;
    for &(at, damage) in path[..given].iter().filter(|(at, _)| *at > 0.0) {
        filter.advance(at - clock);
        filter.observe(&Observation::Reading { damage, sd }, 0.0);
        clock = at;
    }
    filter.posterior(&CarFactor::none(), &[])
}

/// A straight line through the last two readings given.
fn straight_line(path: &Path, given: usize, at: f64) -> f64 {
    let (before, last) = (path[given - 2], path[given - 1]);
    last.1 + (last.1 - before.1) / (last.0 - before.0) * (at - last.0)
}

/// A pooled regression: d = a·t + b·t² by least squares through all readings, second halves too, of the other units.
fn pooled<'a>(others: impl Iterator<Item = &'a Path>, at: f64) -> f64 {
    let (mut s2, mut s3, mut s4, mut y1, mut y2) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for &(t, d) in others.flatten() {
        s2 += t * t;
        s3 += t.powi(3);
        s4 += t.powi(4);
        y1 += t * d;
        y2 += t * t * d;
    }
    let det = s2 * s4 - s3 * s3;
    ((y1 * s4 - y2 * s3) * at + (y2 * s2 - y1 * s3) * at * at) / det
}

#[derive(Default)]
struct Tally {
    inside: Vec<bool>,
    errors: Vec<f64>,
    lines: Vec<f64>,
    pooled: Vec<f64>,
}

impl Tally {
    fn share(&self) -> f64 {
        self.inside.iter().filter(|inside| **inside).count() as f64 / self.inside.len() as f64
    }

    /// Prints what was reached and holds it to the method's figures and to those of the independent computation.
    fn must_reach(&self, name: &str, expected: &Expected) {
        let (share, error, line) = (self.share(), median(self.errors.clone()), median(self.lines.clone()));
        println!(
            "{name:16} {:2} units: {share:.2} inside 80 %, median error {error:.4}; straight line {line:.4}, pooled {:.4}",
            self.inside.len(),
            median(self.pooled.clone())
        );
        assert!(
            (share - expected.share).abs() < 0.05,
            "{name}: {share} for {}",
            expected.share
        );
        assert!(
            (error / expected.error - 1.0).abs() < 0.1,
            "{name}: {error} for {}",
            expected.error
        );
        assert!(
            (line / expected.line - 1.0).abs() < 0.02,
            "{name}: {line} for {}",
            expected.line
        );
        assert!((0.7..=0.95).contains(&share), "{name}: {share}");
    }
}

/// What the independent computation says.
struct Expected {
    share: f64,
    error: f64,
    line: f64,
}

/// Every unit in turn against what the others and its own first half say.
fn forecast(paths: &[Path], jumpiness: f64, quickening: f64, sd: f64, given: impl Fn(&Path) -> usize) -> Tally {
    let kernels = Kernels::new();
    let rates: Vec<f64> = paths.iter().map(|p| log_rate(p, given(p), quickening)).collect();
    let mut tally = Tally::default();
    for (nth, path) in paths.iter().enumerate() {
        let others: Vec<f64> = (0..paths.len()).filter(|o| *o != nth).map(|o| rates[o]).collect();
        let (mean, spread) = mean_and_sd(&others);
        let prior = prior((-mean).exp(), spread, jumpiness, quickening);
        let known = given(path);
        let (end, truth) = *path.last().unwrap();
        let points = learnt(path, known, &prior, sd, &kernels).damage_ahead(end - path[known - 1].0, &[0.1, 0.5, 0.9]);
        tally.inside.push(points[0] <= truth && truth <= points[2]);
        tally.errors.push((points[1] - truth).abs());
        tally.lines.push((straight_line(path, known, end) - truth).abs());
        let others = paths.iter().enumerate().filter(|(o, _)| *o != nth).map(|(_, p)| p);
        tally.pooled.push((pooled(others, end) - truth).abs());
    }
    tally
}

/// How many readings were taken up to a clock.
fn up_to(clock: f64) -> impl Fn(&Path) -> usize {
    move |path| path.iter().filter(|(at, _)| *at <= clock + 1e-9).count()
}

fn lasers() -> Vec<Path> {
    paths(include_str!("../golden/gaas_laser.csv"), 1000.0, 0.0, 10.0)
}

fn cracks() -> Vec<Path> {
    paths(include_str!("../golden/alloy_a_crack.csv"), 0.01, 0.9, 1.6)
}

/// 0.87 and 0.051 against 0.091 in the method.
#[test]
fn laser_current_is_forecast() {
    let lasers = lasers();
    assert_eq!(lasers.len(), 15);
    let tally = forecast(&lasers, 0.007, 1.0, READING_SD, up_to(2.0));
    tally.must_reach(
        "lasers",
        &Expected {
            share: 0.867,
            error: 0.0512,
            line: 0.0913,
        },
    );
    assert!(median(tally.errors.clone()) < 0.75 * median(tally.lines.clone()));
}

/// A straight line (κ = 0) books the wandering of the rate as scatter of the readings: what share of truths it holds is whatever scatter
/// one grants it, and it is too low for all that lie between the display's last digit and the scatter about the lines
/// (0.0205). The independent computation has 0.07, 0.27, 0.47 and 0.67 at 0.005, 0.0205, 0.03 and 0.04; the
/// method's 0.47 is the third.
#[test]
fn a_straight_line_is_too_sure_of_itself() {
    let lasers = lasers();
    let share = |sd: f64, jumpiness: f64| forecast(&lasers, jumpiness, 1.0, sd, up_to(2.0)).share();
    for (sd, expected) in [(0.005, 0.067), (0.0205, 0.267), (0.03, 0.467), (0.04, 0.667)] {
        let (straight, wandering) = (share(sd, 0.0), share(sd, 0.007));
        println!("scatter {sd}: {straight:.2} inside with a straight line, {wandering:.2} with the gamma process");
        assert!((straight - expected).abs() < 0.07, "{straight} for {expected}");
        assert!(straight < 0.7 && wandering >= 0.8, "{straight} {wandering}");
    }
}

/// 0.90 and 0.040 against 0.214 in the method.
#[test]
fn fatigue_cracks_are_forecast() {
    let cracks = cracks();
    assert_eq!(cracks.len(), 21);
    let tally = forecast(&cracks, 0.003, 4.4, READING_SD, up_to(6.0));
    tally.must_reach(
        "fatigue cracks",
        &Expected {
            share: 0.905,
            error: 0.0396,
            line: 0.2143,
        },
    );
    assert!(median(tally.errors.clone()) < 0.5 * median(tally.lines.clone()));
}

/// 0.94 and 0.053 against 0.075 in the method (its prior was wider: with a log-sd of 0.6 the error here is 0.050).
#[test]
fn cylinder_liners_are_forecast() {
    let mut liners = paths(include_str!("../golden/cylinder_liner_wear.csv"), 1.0, 0.0, 3.5);
    liners.retain(|path| path.len() > 1);
    assert_eq!(liners.len(), 17);
    liners.iter_mut().for_each(|path| path.insert(0, (0.0, 0.0)));
    let tally = forecast(&liners, 0.05, 0.33, READING_SD, |path| path.len() - 1);
    tally.must_reach(
        "cylinder liners",
        &Expected {
            share: 0.941,
            error: 0.0473,
            line: 0.0752,
        },
    );
    assert!(median(tally.errors.clone()) < 0.75 * median(tally.lines.clone()));
}

/// Metal sliding on metal under three loads, four units each, read at 2 to 500 cycles. Wear slows: the clock is a power of the cycles, its
/// exponent the pooled log-log slope of the other units' first halves. The limit, which nobody published, is twice what the
/// other units of the load had lost half way. The pooled regression is better here: four specimens under one load are very
/// nearly alike, and no unit's own first half says that the wear slows less later on.
#[test]
fn sliding_wear_is_forecast() {
    const HALF: usize = 4;
    let mut units: BTreeMap<&str, (&str, Path)> = BTreeMap::new();
    for row in rows(include_str!("../golden/metal_sliding_wear.csv")) {
        let unit = units.entry(row[0]).or_insert((row[1], Vec::new()));
        unit.1.push((number(row[2]), number(row[3])));
    }
    let units: Vec<(&str, Path)> = units.into_values().collect();
    assert_eq!(units.len(), 12);
    let kernels = Kernels::new();
    let mut tally = Tally::default();
    for (nth, (load, path)) in units.iter().enumerate() {
        let others: Vec<&(&str, Path)> = (0..units.len()).filter(|o| *o != nth).map(|o| &units[o]).collect();
        let same: Vec<&Path> = others.iter().filter(|o| o.0 == *load).map(|o| &o.1).collect();
        let (mut above, mut below) = (0.0, 0.0);
        for (_, other) in &others {
            let logs: Vec<(f64, f64)> = other[..HALF].iter().map(|(t, d)| (t.ln(), d.ln())).collect();
            let (x, y) = (
                logs.iter().map(|l| l.0).sum::<f64>() / HALF as f64,
                logs.iter().map(|l| l.1).sum::<f64>() / HALF as f64,
            );
            above += logs.iter().map(|l| (l.0 - x) * (l.1 - y)).sum::<f64>();
            below += logs.iter().map(|l| (l.0 - x).powi(2)).sum::<f64>();
        }
        let exponent: f64 = above / below;
        let limit = 2.0 * same.iter().map(|p| p[HALF - 1].1).sum::<f64>() / same.len() as f64;
        let on_clock = |path: &Path| -> Path { path.iter().map(|(t, d)| (t.powf(exponent), d / limit)).collect() };
        let rate = |path: &Path| log_rate(&on_clock(path), HALF, 1.0);
        // The log-sd about the mean of each load.
        let (mut squares, mut freedom) = (0.0, 0.0);
        for load in ["10", "50", "100"] {
            let rates: Vec<f64> = others.iter().filter(|o| o.0 == load).map(|o| rate(&o.1)).collect();
            let (_, sd) = mean_and_sd(&rates);
            squares += sd * sd * (rates.len() - 1) as f64;
            freedom += (rates.len() - 1) as f64;
        }
        let (mean, _) = mean_and_sd(&same.iter().map(|p| rate(p)).collect::<Vec<f64>>());
        let prior = prior((-mean).exp(), (squares / freedom).sqrt(), 0.03, 1.0);
        let own = on_clock(path);
        let (end, truth) = *own.last().unwrap();
        let points =
            learnt(&own, HALF, &prior, READING_SD, &kernels).damage_ahead(end - own[HALF - 1].0, &[0.1, 0.5, 0.9]);
        tally.inside.push(points[0] <= truth && truth <= points[2]);
        tally.errors.push((points[1] - truth).abs());
        tally.lines.push((straight_line(&own, HALF, end) - truth).abs());
        let all: Vec<Path> = same.iter().map(|p| on_clock(p)).collect();
        tally.pooled.push((pooled(all.iter(), end) - truth).abs());
    }
    tally.must_reach(
        "sliding wear",
        &Expected {
            share: 0.833,
            error: 0.1165,
            line: 0.267,
        },
    );
    assert!(median(tally.errors.clone()) < 0.75 * median(tally.lines.clone()));
}

/// Drift of a component at 200, 500 and 1000 h, 65 and 85 °C, ten units (at 105 °C two of five are past the limit half way). The
/// paths are nearly straight lines and the same smooth κ as for lasers is too careful for them: all ten lie inside, where
/// eight are due (a chance of one in nine). The numbers of this set are from memory.
#[test]
fn drifting_components_are_forecast() {
    for temperature in ["65", "85"] {
        let paths: Vec<Path> = rows(include_str!("../golden/nist_8423_degradation.csv"))
            .filter(|row| row[0] == temperature)
            .map(|row| {
                let read = |hours: f64, field: &str| (hours / 1000.0, number(field) / 30.0);
                vec![read(200.0, row[2]), read(500.0, row[3]), read(1000.0, row[4])]
            })
            .collect();
        assert_eq!(paths.len(), 5);
        let tally = forecast(&paths, 0.007, 1.0, READING_SD, |_| 2);
        let error = median(tally.errors.clone());
        println!(
            "drift at {temperature} °C: {:.2} inside 80 %, median error {error:.4}",
            tally.share()
        );
        assert!(tally.share() >= 0.7 && error < 0.03, "{} {error}", tally.share());
    }
}

/// P(a crack passes 1.60 inch by 0.12 million cycles), as known half way: its mean squared error (Brier) against that of the share
/// of the others that did, and of a straight line's yes or no.
#[test]
fn the_chance_of_passing_the_limit_is_better_than_a_share_or_a_line() {
    let (cracks, kernels) = (cracks(), Kernels::new());
    let passed: Vec<bool> = cracks.iter().map(|c| c.iter().any(|(_, d)| *d >= 1.0 - 1e-9)).collect();
    let all = passed.iter().filter(|p| **p).count();
    assert_eq!(all, 12);
    let rates: Vec<f64> = cracks.iter().map(|c| log_rate(c, up_to(6.0)(c), 4.4)).collect();
    let (mut ours, mut shares, mut lines) = (0.0, 0.0, 0.0);
    for (nth, crack) in cracks.iter().enumerate() {
        let others: Vec<f64> = (0..cracks.len()).filter(|o| *o != nth).map(|o| rates[o]).collect();
        let (mean, spread) = mean_and_sd(&others);
        let known = up_to(6.0)(crack);
        let chance = learnt(
            crack,
            known,
            &prior((-mean).exp(), spread, 0.003, 4.4),
            READING_SD,
            &kernels,
        )
        .past(1.0, 6.0);
        let truth = f64::from(u8::from(passed[nth]));
        let share = (all as f64 - truth) / (cracks.len() - 1) as f64;
        let line = f64::from(u8::from(straight_line(crack, known, 12.0) >= 1.0));
        ours += (chance - truth).powi(2) / cracks.len() as f64;
        shares += (share - truth).powi(2) / cracks.len() as f64;
        lines += (line - truth).powi(2) / cracks.len() as f64;
    }
    println!(
        "squared error of the chance to pass: {ours:.3}; share of the others {shares:.3}, straight line {lines:.3}"
    );
    assert!(ours < 0.5 * shares && ours < 0.5 * lines, "{ours} {shares} {lines}");
}

/// 63 fatigue lives, each against the log-normal law of the other 62: time to the limit of a part never looked at.
#[test]
fn lives_of_unseen_parts_fall_into_their_interval() {
    let kernels = Kernels::new();
    let logs: Vec<f64> = rows(include_str!("../golden/bk_fatigue_life.csv"))
        .map(|row| (number(row[0]) / 10.0).ln())
        .collect();
    assert_eq!(logs.len(), 63);
    let (mut inside, mut below) = (0, 0);
    for (nth, life) in logs.iter().enumerate() {
        let others: Vec<f64> = (0..logs.len()).filter(|o| *o != nth).map(|o| logs[o]).collect();
        let (mean, spread) = mean_and_sd(&others);
        let unseen = Filter::new(
            &prior(mean.exp(), spread, 0.03, 1.0),
            Start::At { damage: 0.0 },
            &kernels,
        );
        let unseen = unseen.posterior(&CarFactor::none(), &[]);
        let [low, mid, high] = [0.1, 0.5, 0.9].map(|p| unseen.until(1.0, p).unwrap());
        inside += usize::from(low <= life.exp() && life.exp() <= high);
        below += usize::from(life.exp() < mid);
    }
    let (inside, below) = (inside as f64 / 63.0, below as f64 / 63.0);
    println!("63 fatigue lives: {inside:.2} inside 80 %, {below:.2} below the median");
    assert!(
        (0.7..=0.95).contains(&inside) && (0.38..=0.62).contains(&below),
        "{inside} {below}"
    );
}

/// 38 shock absorbers, 11 failed and the rest taken off before: the hazards that the law of the other 37 (log-normal, by maximum likelihood with
/// censoring) gave them until their last kilometre must sum to about the failures seen.
#[test]
fn as_many_shock_absorbers_failed_as_was_said() {
    let units: Vec<(f64, bool)> = rows(include_str!("../golden/shock_absorber.csv"))
        .map(|row| (number(row[0]) / 10_000.0, row[2] == "Failure"))
        .collect();
    let failed = units.iter().filter(|u| u.1).count();
    assert_eq!((units.len(), failed), (38, 11));
    let log_chance = |mean: f64, sd: f64, (km, failed): (f64, bool)| {
        let z = (km.ln() - mean) / sd;
        if failed {
            -0.5 * z * z - sd.ln()
        } else {
            (0.5 * statrs::function::erf::erfc(z / std::f64::consts::SQRT_2)).ln()
        }
    };
    let kernels = Kernels::new();
    let mut hazard = 0.0;
    for (nth, unit) in units.iter().enumerate() {
        let others: Vec<(f64, bool)> = (0..units.len()).filter(|o| *o != nth).map(|o| units[o]).collect();
        let mut best = (f64::NEG_INFINITY, 0.0, 0.0);
        for mean in (0..60).map(|i| 0.5 + 0.02 * f64::from(i)) {
            for sd in (0..40).map(|i| 0.2 + 0.02 * f64::from(i)) {
                let likelihood: f64 = others.iter().map(|u| log_chance(mean, sd, *u)).sum();
                if likelihood > best.0 {
                    best = (likelihood, mean, sd);
                }
            }
        }
        let unseen = Filter::new(
            &prior(best.1.exp(), best.2, 0.03, 1.0),
            Start::At { damage: 0.0 },
            &kernels,
        );
        hazard -= (1.0 - unseen.posterior(&CarFactor::none(), &[]).past(1.0, unit.0)).ln();
    }
    println!("38 shock absorbers: {failed} failed, {hazard:.1} were due");
    assert!((hazard - 11.0).abs() < 11f64.sqrt(), "{hazard}");
}
