//! A checked set of rubrics, ready for use: every id is known, every reference resolves.

use super::model::*;
use super::station::{PartId, Station};
use crate::text::words_of;

/// All rubrics in force: the built-in ones with the user's laid over them.
#[derive(Debug, Clone, Default)]
pub struct Library {
    all: RubricFile,
}

impl Library {
    /// Wraps one merged file without checking it; [`super::check`] is the usual way in.
    #[must_use]
    pub fn unchecked(all: RubricFile) -> Library {
        Library { all }
    }

    /// Everything, as one file.
    #[must_use]
    pub fn all(&self) -> &RubricFile {
        &self.all
    }

    /// All components in library order.
    #[must_use]
    pub fn components(&self) -> &[Component] {
        &self.all.components
    }

    /// A component by id.
    #[must_use]
    pub fn component(&self, id: &str) -> Option<&Component> {
        self.all.components.iter().find(|c| c.id == id)
    }

    /// A check of a component.
    #[must_use]
    pub fn check(&self, component: &str, check: &str) -> Option<&Check> {
        self.component(component)?.checks.iter().find(|c| c.id == check)
    }

    /// A repair by id.
    #[must_use]
    pub fn repair(&self, id: &str) -> Option<&Repair> {
        self.all.repairs.iter().find(|r| r.id == id)
    }

    /// The repairs that do something for a component: its own, and those of others that renew it along.
    pub fn repairs_of<'a>(&'a self, component: &'a str) -> impl Iterator<Item = &'a Repair> + 'a {
        self.all
            .repairs
            .iter()
            .filter(move |r| r.component == component || r.also_renews.iter().any(|c| c == component))
    }

    /// An access step by id.
    #[must_use]
    pub fn access_step(&self, id: &str) -> Option<&AccessStep> {
        self.all.access_steps.iter().find(|s| s.id == id)
    }

    /// The access steps named and all that they need, in the order they are opened, each once.
    #[must_use]
    pub fn access_closure(&self, ids: &[String]) -> Vec<&AccessStep> {
        fn visit<'a>(library: &'a Library, id: &str, into: &mut Vec<&'a AccessStep>, depth: usize) {
            if depth > 32 || into.iter().any(|s| s.id == id) {
                return;
            }
            if let Some(step) = library.access_step(id) {
                for needed in &step.needs {
                    visit(library, needed, into, depth + 1);
                }
                into.push(step);
            }
        }
        let mut steps = Vec::new();
        for id in ids {
            visit(self, id, &mut steps, 0);
        }
        steps
    }

    /// A follow-up by id.
    #[must_use]
    pub fn follow_up(&self, id: &str) -> Option<&FollowUp> {
        self.all.follow_ups.iter().find(|f| f.id == id)
    }

    /// A layout piece by id.
    #[must_use]
    pub fn layout(&self, id: &str) -> Option<&LayoutPiece> {
        self.all.layouts.iter().find(|l| l.id == id)
    }

    /// The choices a new car makes, in library order, without [`ALWAYS`].
    #[must_use]
    pub fn choices(&self) -> Vec<&str> {
        let mut choices: Vec<&str> = Vec::new();
        for piece in &self.all.layouts {
            if piece.choice != ALWAYS && !choices.contains(&piece.choice.as_str()) {
                choices.push(&piece.choice);
            }
        }
        choices
    }

    /// The pieces of one choice, in library order.
    pub fn pieces_of<'a>(&'a self, choice: &'a str) -> impl Iterator<Item = &'a LayoutPiece> + 'a {
        self.all.layouts.iter().filter(move |l| l.choice == choice)
    }

    /// Components that go by an id or another name, best first: the id, then the name or another name of it, then all that
    /// have the words in one of these. Small and large letters, hyphens and blanks make no difference.
    #[must_use]
    pub fn called(&self, text: &str) -> Vec<&Component> {
        let wanted = words_of(text);
        if wanted.is_empty() {
            return Vec::new();
        }
        let names = |c: &Component| -> Vec<String> {
            [c.id.as_str(), c.name.as_str()]
                .into_iter()
                .chain(c.also_called.iter().map(String::as_str))
                .map(words_of)
                .collect()
        };
        let of = |fits: &dyn Fn(&Component) -> bool| self.components().iter().filter(|c| fits(c)).collect::<Vec<_>>();
        let by_id = of(&|c| c.id == text.trim());
        if !by_id.is_empty() {
            return by_id;
        }
        let whole = of(&|c| names(c).contains(&wanted));
        if !whole.is_empty() {
            return whole;
        }
        of(&|c| {
            names(c).iter().any(|name| {
                wanted
                    .split(' ')
                    .all(|word| name.split(' ').any(|w| w.starts_with(word)))
            })
        })
    }

    /// A usual car by id.
    #[must_use]
    pub fn usual_car(&self, id: &str) -> Option<&UsualCar> {
        self.all.usual_cars.iter().find(|u| u.id == id)
    }

    /// The parts that a layout places, in library order, each once.
    #[must_use]
    pub fn placed(&self, layout: &[String]) -> Vec<PartId> {
        let mut parts = Vec::new();
        let pieces = self
            .all
            .layouts
            .iter()
            .filter(|l| l.choice == ALWAYS || layout.contains(&l.id));
        for piece in pieces {
            let held = |p: &&Placement| p.with.is_empty() || p.with.iter().any(|id| layout.contains(id));
            for placement in piece.places.iter().filter(held) {
                for station in &placement.at {
                    let part = PartId::new(&placement.component, station.clone());
                    if !parts.contains(&part) {
                        parts.push(part);
                    }
                }
            }
        }
        parts
    }

    /// A climate class by id.
    #[must_use]
    pub fn climate(&self, id: &str) -> Option<&Climate> {
        self.all.climates.iter().find(|c| c.id == id)
    }

    /// A storage by id.
    #[must_use]
    pub fn storage(&self, id: &str) -> Option<&Storage> {
        self.all.storages.iter().find(|s| s.id == id)
    }

    /// What a thread of a grade does.
    #[must_use]
    pub fn thread_grade(&self, grade: crate::units::Grade) -> Option<&ThreadGrade> {
        self.all.thread_grades.iter().find(|t| t.grade == grade)
    }

    /// A metric thread by id.
    #[must_use]
    pub fn thread(&self, id: &str) -> Option<&Thread> {
        self.all.threads.iter().find(|t| t.id == id)
    }

    /// A strength class by id.
    #[must_use]
    pub fn strength_class(&self, id: &str) -> Option<&StrengthClass> {
        self.all.strength_classes.iter().find(|s| s.id == id)
    }

    /// A caution's text by id.
    #[must_use]
    pub fn caution(&self, id: &str) -> Option<&Caution> {
        self.all.cautions.iter().find(|c| c.id == id)
    }

    /// A part in words: `Track rod end, front left`.
    #[must_use]
    pub fn part_name(&self, part: &PartId) -> String {
        let name = self
            .component(&part.component)
            .map_or(part.component.as_str(), |c| c.name.as_str());
        if part.station == Station::default() {
            name.to_owned()
        } else {
            format!("{name}, {}", part.station.words())
        }
    }
}
