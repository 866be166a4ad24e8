//! What is wrong with the files of a car: found, placed and said, without changing anything.

use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::error::StoreError;
use super::folder::DataFolder;
use super::inspect::{self, Inspection, Trouble};
use super::snapshot::{self, Piece, Refusal, SCHEMA};
use super::{generations, in_step, journal, paths, photos, recover};
use crate::car::Car;
use crate::rubric::Library;
use crate::text::clean;

/// What is wrong with the bytes of one file of a car, which is named by its path inside the car's folder; `None` when
/// nothing is, or when a car has no such file. A pure function: it reads no disk.
#[must_use]
pub fn fault_in(file: &str, bytes: &[u8]) -> Option<String> {
    if file == "journal" {
        return match journal::read(bytes).tail {
            journal::Tail::Clean => None,
            journal::Tail::Torn => Some("the newest record was not completely written".to_owned()),
            journal::Tail::Damaged(line, what) => Some(format!("{line}: {what}")),
        };
    }
    let refusal = match recover::text(bytes) {
        Err(fault) => Refusal::Fault(fault),
        Ok(text) if file == "state.ron" => snapshot::read_state(text).err()?,
        Ok(text) => snapshot::read_piece(Piece::from_file(file)?, text).err()?,
    };
    Some(match refusal {
        Refusal::Newer(found) => format!("schema {found} is newer than {SCHEMA}"),
        Refusal::Fault(fault) => format!("{}:{}: {}", fault.line, fault.column, fault.what),
    })
}

/// What was found in a car's folder.
#[derive(Debug)]
pub struct Verified {
    /// The name of its folder.
    pub name: String,
    /// Its folder.
    pub folder: PathBuf,
    /// All that is wrong, by file and line.
    pub troubles: Vec<Trouble>,
    /// How many looks, repairs and generations could be read.
    pub counted: (usize, usize, usize),
    /// How many copies of damaged files stand in the folder.
    pub set_aside: usize,
}

impl Verified {
    /// Whether anything keeps the car from being opened as it was recorded.
    #[must_use]
    pub fn damaged(&self) -> bool {
        self.troubles.iter().any(|t| t.damage)
    }
}

impl DataFolder {
    /// Looks through the whole folder of a car, file by file and then all of it together, without changing anything.
    ///
    /// # Errors
    /// When the car is not found; whatever is wrong with it is no error but what was asked for.
    pub fn verify(&self, name: &str, library: &Library, today: Date) -> Result<Verified, StoreError> {
        let (name, folder) = self.resolve(name)?;
        self.may_open(&name, &folder)?;
        let mut seen = Inspection::of(&folder);
        let mut troubles = std::mem::take(&mut seen.troubles);
        let through = seen.files();
        let held = seen.pieces.into_values().map(|(held, _)| held);
        let mut counted = (0, 0, 0);
        if let Some(mut car) = recover::assemble(held) {
            for (line, what) in in_step::replay(&mut car, &through, &seen.journal).unfit {
                troubles.push(Trouble {
                    line,
                    column: 0,
                    file: folder.join("journal"),
                    what,
                    advice: "`tinworm verify CAR --repair` leaves it out and keeps a copy of the journal".to_owned(),
                    damage: true,
                });
            }
            counted.0 = car.surveys.iter().map(|s| s.looks.len()).sum();
            counted.1 = car.repairs.len();
            let mut remarks = Remarks {
                folder: &folder,
                troubles: &mut troubles,
                made: 0,
            };
            remarks.known(&car, library);
            remarks.dates(&car, today);
            remarks.photos(&car);
        }
        for generation in generations::list(&folder) {
            match generation.car {
                Ok(_) => counted.2 += 1,
                Err(error) => troubles.push(Trouble {
                    file: folder.join(generations::place(None, generation.number)),
                    line: 0,
                    column: 0,
                    what: format!("generation {} cannot be put together: {error}", generation.number),
                    advice: "the car itself is not touched by it; restore another one if you need one".to_owned(),
                    damage: false,
                }),
            }
        }
        troubles.sort();
        troubles.dedup();
        let set_aside = inspect::put_aside(&folder);
        Ok(Verified {
            name,
            folder,
            troubles,
            counted,
            set_aside,
        })
    }
}

/// Things worth knowing that do not keep a car from being opened.
struct Remarks<'a> {
    folder: &'a Path,
    troubles: &'a mut Vec<Trouble>,
    made: usize,
}

/// More remarks than that are not worth reading, and each takes a search for its place.
const MOST_REMARKS: usize = 100;

impl Remarks<'_> {
    /// Adds a remark at the first line of a file, or of the journal, on which all the words stand.
    fn add(&mut self, piece: Piece, words: &[&str], what: String, advice: &str) {
        if self.made >= MOST_REMARKS {
            return;
        }
        self.made += 1;
        let file = self.folder.join(piece.file());
        let journal = self.folder.join("journal");
        let place = line_with(&file, words).map(|place| (file.clone(), place));
        let place = place.or_else(|| Some((journal.clone(), line_with(&journal, words)?)));
        let (file, (line, column)) = place.unwrap_or((file, (0, 0)));
        self.troubles.push(Trouble {
            file,
            line,
            column,
            what,
            advice: advice.to_owned(),
            damage: false,
        });
    }

    /// Parts, checks, repairs and pieces of layout that no rubric in force knows.
    fn known(&mut self, car: &Car, library: &Library) {
        const GONE: &str =
            "name the folder of the rubric that has it with --rubrics, or leave it: it is kept and not reckoned";
        for piece in car.profile.layout.iter().filter(|p| library.layout(p).is_none()) {
            let what = format!("no rubric has the piece of layout `{piece}`");
            self.add(Piece::Profile, &[piece], what, GONE);
        }
        let parts = car.part_ids(library);
        for survey in &car.surveys {
            for look in &survey.looks {
                let id = look.part.to_string();
                let known = library.check(&look.part.component, &look.check).is_some();
                let what = match (known, parts.contains(&look.part)) {
                    (true, true) => continue,
                    (false, _) => format!("no rubric has the check `{}` of {id}", look.check),
                    // Taken off the car by its owner: nothing strange.
                    (true, false) if car.parts.get(&look.part).is_some_and(|n| n.not_fitted) => continue,
                    (true, false) => format!("the car has no part {id}"),
                };
                self.add(Piece::Survey(survey.date), &[&id, &look.check], what, GONE);
            }
        }
        for done in car.repairs.iter().filter(|r| library.repair(&r.repair).is_none()) {
            let what = format!("no rubric has the repair `{}`", done.repair);
            self.add(Piece::Repairs, &[&done.repair], what, GONE);
        }
        for id in car.parts.keys().filter(|id| library.component(&id.component).is_none()) {
            let what = format!("no rubric has the component `{}`", id.component);
            self.add(Piece::Parts, &[&id.component], what, GONE);
        }
    }

    /// Days that cannot be, and odometers that run backwards.
    fn dates(&mut self, car: &Car, today: Date) {
        const CLOCK: &str = "if the clock was wrong then, enter the survey again on its true day; else look at --built";
        for survey in &car.surveys {
            let day = survey.date.to_string();
            let piece = Piece::Survey(survey.date);
            if survey.date > today {
                self.add(piece, &[&day], format!("the survey of {day} is in the future"), CLOCK);
            }
            if let Some(built) = car.profile.built.filter(|built| survey.date < *built) {
                let what = format!("the survey of {day} is older than the car, built {built}");
                self.add(piece, &[&day], what, CLOCK);
            }
        }
        for done in car.repairs.iter().filter(|r| r.date > today) {
            let what = format!("the repair `{}` of {} is in the future", done.repair, done.date);
            self.add(Piece::Repairs, &[&done.date.to_string(), &done.repair], what, CLOCK);
        }
        let read: Vec<(Date, f64)> = car
            .surveys
            .iter()
            .filter_map(|s| Some((s.date, s.odometer_km?)))
            .collect();
        for pair in read.windows(2) {
            if let [(before, high), (after, low)] = pair
                && low + 1.0 < *high
            {
                let what = format!("the odometer reads less on {after} than on {before}");
                let advice = "enter the right distance with `tinworm enter CAR SHEET --date DAY --odometer DISTANCE`";
                self.add(Piece::Survey(*after), &["odometer_km"], what, advice);
            }
        }
    }

    /// Photos that are named but cannot be read, or are not what was copied in.
    fn photos(&mut self, car: &Car) {
        for survey in &car.surveys {
            for name in survey.looks.iter().flat_map(|look| &look.photos) {
                let (what, advice) = match photos::read(self.folder, name) {
                    Ok(_) => continue,
                    Err(StoreError::Missing { .. }) => (
                        "is named but not there".to_owned(),
                        "put it back into the folder `photos`, or look without it",
                    ),
                    Err(error) => (
                        format!("cannot be used: {error}"),
                        "put it back from a copy, or take it off the look with `tinworm photo CAR PART CHECK --remove NAME`",
                    ),
                };
                let what = format!("the photo `{}` {what}", clean(name));
                self.add(Piece::Survey(survey.date), &[name], what, advice);
            }
        }
    }
}

/// The first line that holds all the words, and the column of the first of them.
fn line_with(file: &Path, words: &[&str]) -> Option<(usize, usize)> {
    let bytes = paths::bytes(file, file.parent()?).ok()??;
    let text = String::from_utf8_lossy(&bytes);
    let first = words.first()?;
    text.lines().enumerate().find_map(|(at, line)| {
        let found = line.find(first)?;
        words.iter().all(|word| line.contains(word)).then(|| {
            let column = line.get(..found).unwrap_or_default().chars().count() + 1;
            (at + 1, column)
        })
    })
}
