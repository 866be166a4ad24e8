//! What rusty threads cost in hours.
//!
//! A fastener's grade comes from the check that its repair names; its probabilities are those of the check's posterior.
//! Where the repair names none, or the check is not on the part, the fastener is as the threads of this car are on
//! average, or grade 2 where no thread of it has been graded (judgement). Each fastener seizes with the probability of
//! its grade and then costs that grade's extra minutes; both are judgement, from the thread table.
//! How much longer than the rubric says this owner's jobs take, and how they scatter, comes from [`crate::engine::workpace`].

use rand::RngExt;
use rand::SeedableRng;
use rand_pcg::Pcg64Mcg;

use crate::car::Car;
use crate::engine::state::{Assessment, PartState};
use crate::engine::workpace::{WorkPace, learn};
use crate::rubric::{Fixing, Library, PartId, Repair, RepairKind};
use crate::units::Grade;

const DRAWS: usize = 2000;

/// Seizing of threads on one car.
pub(crate) struct Trouble {
    /// Probability of seizing and hours it costs, by grade.
    by_grade: [(f64, f64); 6],
    /// Grade probabilities of a thread nobody graded.
    usual: [f64; 6],
    /// What earlier jobs say of the owner's hours.
    pub(crate) pace: WorkPace,
}

impl Trouble {
    pub(crate) fn new(car: &Car, library: &Library, assessment: &Assessment) -> Trouble {
        let by_grade = Grade::ALL.map(|g| {
            library
                .thread_grade(g)
                .map_or((0.0, 0.0), |t| (t.seizes, t.minutes / 60.0))
        });
        let graded = |part: &PartState| -> Vec<[f64; 6]> {
            let named = |check: &str| {
                library.all().repairs.iter().any(|r| {
                    r.component == part.id.component && r.fixings.iter().any(|f| f.graded_by.as_deref() == Some(check))
                })
            };
            part.checks
                .iter()
                .filter(|c| c.last.is_some() && named(&c.check))
                .map(|c| c.grades)
                .collect()
        };
        let seen: Vec<[f64; 6]> = assessment.parts.iter().flat_map(graded).collect();
        let mut usual = [0.0, 0.0, 1.0, 0.0, 0.0, 0.0];
        if !seen.is_empty() {
            usual = [0.0; 6];
            for grades in &seen {
                for (u, g) in usual.iter_mut().zip(grades) {
                    *u += g / seen.len() as f64;
                }
            }
        }
        Trouble {
            by_grade,
            usual,
            pace: learn(&car.repairs),
        }
    }

    /// Grade probabilities of a fastener of a repair on a part, and its last seen grade.
    pub(crate) fn grades(&self, assessment: &Assessment, fixing: &Fixing, part: &PartId) -> ([f64; 6], Option<Grade>) {
        let check = fixing.graded_by.as_deref();
        let state = check.and_then(|id| assessment.part(part)?.checks.iter().find(|c| c.check == id));
        state.map_or((self.usual, None), |s| (s.grades, s.last.as_ref().map(|l| l.grade)))
    }

    /// Expected extra hours of one fastener.
    pub(crate) fn of_fixing(&self, fixing: &Fixing, grades: &[f64; 6]) -> f64 {
        let most = most_hours(fixing);
        grades
            .iter()
            .zip(self.by_grade)
            .map(|(p, (seizes, hours))| p * seizes * hours.min(most))
            .sum()
    }

    /// Expected extra hours of a repair of one part, before the owner's own pace.
    pub(crate) fn mean_hours(&self, assessment: &Assessment, repair: &Repair, part: &PartId) -> f64 {
        if repair.specialist.is_some() || matches!(repair.kind, RepairKind::Treat(_)) && repair.fixings.is_empty() {
            return 0.0;
        }
        repair
            .fixings
            .iter()
            .map(|f| f64::from(f.count) * self.of_fixing(f, &self.grades(assessment, f, part).0))
            .sum()
    }

    /// Median and 90 % point of a visit's hours: plain hours, of the owner's pace already, with a log-normal spread, and each
    /// fastener's luck.
    pub(crate) fn spread(&self, plain: f64, fixings: &[(&Fixing, [f64; 6])], seed: u64) -> (f64, f64) {
        let mut random = Pcg64Mcg::seed_from_u64(seed);
        let WorkPace { times, spread, .. } = self.pace;
        let mut hours: Vec<f64> = (0..DRAWS)
            .map(|_| {
                let mut sum = plain * (spread * normal(&mut random) - spread * spread / 2.0).exp();
                for (fixing, grades) in fixings {
                    for _ in 0..fixing.count {
                        let mut at: f64 = random.random();
                        let grade = grades.iter().position(|p| {
                            at -= p;
                            at < 0.0
                        });
                        let (seizes, extra) = grade.and_then(|g| self.by_grade.get(g).copied()).unwrap_or((0.0, 0.0));
                        if random.random::<f64>() < seizes {
                            sum += extra.min(most_hours(fixing)) * times;
                        }
                    }
                }
                sum
            })
            .collect();
        hours.sort_by(f64::total_cmp);
        let at = |share: f64| {
            hours
                .get((share * (DRAWS - 1) as f64) as usize)
                .copied()
                .unwrap_or(plain)
        };
        (at(0.5), at(0.9))
    }
}

/// The most a fastener may cost: a thread that can be cut off costs no more than cutting.
fn most_hours(fixing: &Fixing) -> f64 {
    fixing.cut_off.map_or(f64::INFINITY, |minutes| minutes / 60.0)
}

/// A standard normal draw (Box and Muller 1958).
fn normal(random: &mut Pcg64Mcg) -> f64 {
    let (u, v): (f64, f64) = (random.random::<f64>().max(1e-300), random.random());
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}
