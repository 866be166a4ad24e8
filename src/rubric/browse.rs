//! Looking things up in a [`Library`] as somebody does who reads it: what an id names, and what hangs together with it.

use super::library::Library;
use super::model::*;
use super::station::Station;

/// What an id may name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// A component.
    Component,
    /// A repair.
    Repair,
    /// An access step.
    AccessStep,
    /// A follow-up.
    FollowUp,
    /// A piece of layout.
    LayoutPiece,
    /// A metric thread.
    Thread,
    /// A strength class of bolts.
    StrengthClass,
    /// A climate class.
    Climate,
    /// A way of keeping a car.
    Storage,
    /// A caution.
    Caution,
}

impl Kind {
    /// All kinds, in the order of the rubric files.
    pub const ALL: [Kind; 10] = [
        Kind::Component,
        Kind::Repair,
        Kind::AccessStep,
        Kind::FollowUp,
        Kind::LayoutPiece,
        Kind::Thread,
        Kind::StrengthClass,
        Kind::Climate,
        Kind::Storage,
        Kind::Caution,
    ];

    /// Its word: `access step`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Kind::Component => "component",
            Kind::Repair => "repair",
            Kind::AccessStep => "access step",
            Kind::FollowUp => "follow-up",
            Kind::LayoutPiece => "layout piece",
            Kind::Thread => "thread",
            Kind::StrengthClass => "strength class",
            Kind::Climate => "climate",
            Kind::Storage => "storage",
            Kind::Caution => "caution",
        }
    }
}

impl Library {
    /// The ids of one kind, each with the words that say what it is, in library order.
    #[must_use]
    pub fn ids(&self, kind: Kind) -> Vec<(&str, &str)> {
        fn list<'a, T>(items: &'a [T], of: impl Fn(&'a T) -> (&'a String, &'a String)) -> Vec<(&'a str, &'a str)> {
            items
                .iter()
                .map(of)
                .map(|(id, name)| (id.as_str(), name.as_str()))
                .collect()
        }
        let all = self.all();
        match kind {
            Kind::Component => list(&all.components, |it| (&it.id, &it.name)),
            Kind::Repair => list(&all.repairs, |it| (&it.id, &it.name)),
            Kind::AccessStep => list(&all.access_steps, |it| (&it.id, &it.name)),
            Kind::FollowUp => list(&all.follow_ups, |it| (&it.id, &it.name)),
            Kind::LayoutPiece => list(&all.layouts, |it| (&it.id, &it.name)),
            Kind::Thread => list(&all.threads, |it| (&it.id, &it.id)),
            Kind::StrengthClass => list(&all.strength_classes, |it| (&it.id, &it.source)),
            Kind::Climate => list(&all.climates, |it| (&it.id, &it.name)),
            Kind::Storage => list(&all.storages, |it| (&it.id, &it.name)),
            Kind::Caution => list(&all.cautions, |it| (&it.id, &it.text)),
        }
    }

    /// Everything an id names; things of different kinds may share one.
    #[must_use]
    pub fn named(&self, id: &str) -> Vec<Kind> {
        Kind::ALL
            .into_iter()
            .filter(|kind| self.ids(*kind).iter().any(|(known, _)| *known == id))
            .collect()
    }

    /// The known id nearest to a mistyped one.
    #[must_use]
    pub fn nearest_id(&self, id: &str) -> Option<&str> {
        super::check::nearest(
            id,
            Kind::ALL.into_iter().flat_map(|kind| self.ids(kind)).map(|(id, _)| id),
        )
    }

    /// The components of a system, in library order.
    pub fn components_of(&self, system: System) -> impl Iterator<Item = &Component> {
        self.components().iter().filter(move |it| it.system == system)
    }

    /// The layout pieces that place a component, with the stations where they do.
    #[must_use]
    pub fn placed_by(&self, component: &str) -> Vec<(&LayoutPiece, Vec<&Station>)> {
        self.all()
            .layouts
            .iter()
            .filter_map(|piece| {
                let at: Vec<&Station> = piece
                    .places
                    .iter()
                    .filter(|placement| placement.component == component)
                    .flat_map(|placement| &placement.at)
                    .collect();
                (!at.is_empty()).then_some((piece, at))
            })
            .collect()
    }

    /// The couplings that make a check run faster, with the component they belong to.
    #[must_use]
    pub fn quickened_by(&self, component: &str, check: &str) -> Vec<(&Component, &Coupling)> {
        self.components()
            .iter()
            .flat_map(|it| it.couplings.iter().map(move |coupling| (it, coupling)))
            .filter(|(it, coupling)| match coupling.quickens.split_once('/') {
                Some((other, own)) => other == component && own == check,
                None => it.id == component && coupling.quickens == check,
            })
            .collect()
    }

    /// The components that an access step opens the way to.
    pub fn opened_by_step<'a>(&'a self, step: &'a str) -> impl Iterator<Item = &'a Component> + 'a {
        self.components()
            .iter()
            .filter(move |it| it.opened_by.iter().any(|id| id == step))
    }

    /// The texts of cautions, by id, in the order given; an unknown id has none.
    #[must_use]
    pub fn caution_texts<'a>(&'a self, ids: &[String]) -> Vec<&'a str> {
        ids.iter()
            .filter_map(|id| self.caution(id))
            .map(|it| it.text.as_str())
            .collect()
    }

    /// The cautions of a repair with those of all steps it opens and all follow-ups it owes, each once.
    #[must_use]
    pub fn cautions_of_repair(&self, repair: &Repair) -> Vec<&Caution> {
        let steps = self.access_closure(&repair.access);
        let ids = repair
            .cautions
            .iter()
            .chain(steps.iter().flat_map(|step| &step.cautions))
            .chain(
                repair
                    .follow_ups
                    .iter()
                    .filter_map(|id| self.follow_up(id))
                    .flat_map(|it| &it.cautions),
            );
        let mut cautions: Vec<&Caution> = Vec::new();
        for caution in ids.filter_map(|id| self.caution(id)) {
            if !cautions.iter().any(|known| known.id == caution.id) {
                cautions.push(caution);
            }
        }
        cautions
    }
}
