//! Photos of the check at which the Round stands.

use super::{Model, check_name};
use crate::car::{Look, Seen};
use crate::report::words;
use crate::tui::desk::{Desk, Keeping, Stop};
use crate::tui::screen::photo::{self, Shots};
use crate::tui::screen::{Effect, Over, files};

/// Said in the place of photos that would tell the grade.
const HIDDEN: &str = "Last time's photos are shown beside these once this check is graded.";

impl Model {
    /// Asks for a photo of this check.
    pub(super) fn ask_photo(&self, desk: &Desk) -> Vec<Effect> {
        let (Some(stop), Some(survey)) = (desk.stops.get(self.at), self.survey) else {
            return vec![Effect::Say("No survey is begun; B begins one.".to_owned())];
        };
        match &desk.keeping {
            Keeping::Memory => {
                return vec![Effect::Say(
                    "This car is kept in memory only, so it can have no photos.".to_owned(),
                )];
            }
            Keeping::ReadOnly(who) => return vec![Effect::Say(format!("Not saved: {who}"))],
            Keeping::Disk => {}
        }
        let purpose = files::For {
            survey,
            part: stop.part.clone(),
            check: stop.check.clone(),
        };
        let chooser = files::Model::new(&title(desk, stop), purpose, "");
        vec![
            Effect::Over(Box::new(Over::Files(chooser))),
            Effect::ListFolder(String::new()),
        ]
    }

    /// The photos of this check in this survey, and of the survey before once the check is graded: nobody grades from memory.
    fn shots(&self, desk: &Desk, stop: &Stop) -> (Shots, Option<Shots>, &'static str) {
        let look = self.look(desk, stop);
        let shots = |date: Option<jiff::civil::Date>, look: &Look| Shots {
            caption: match (&look.seen, date) {
                (Seen::Not(_), Some(date)) => date.to_string(),
                (seen, Some(date)) => format!("{date}: {}", words::seen(seen, desk.check_at(stop))),
                (_, None) => String::new(),
            },
            names: look.photos.clone(),
        };
        let now = look.map_or_else(Shots::default, |l| shots(self.survey, l));
        let before = desk.car.as_ref().and_then(|car| {
            let earlier = car
                .surveys
                .iter()
                .rev()
                .filter(|s| self.survey.is_none_or(|date| s.date < date));
            earlier
                .filter_map(|s| Some(shots(Some(s.date), s.look(&stop.part, &stop.check)?)))
                .find(|shots| !shots.names.is_empty())
        });
        let graded = look.is_some_and(|l| l.seen.is_seen());
        match before {
            Some(_) if !graded => (now, None, HIDDEN),
            other => (now, other, ""),
        }
    }

    /// Shows the photos of this check.
    pub(super) fn show_photos(&self, desk: &Desk) -> Vec<Effect> {
        let Some(stop) = desk.stops.get(self.at) else {
            return Vec::new();
        };
        let (now, before, hidden) = self.shots(desk, stop);
        if now.names.is_empty() && before.is_none() {
            let why = if hidden.is_empty() {
                "This check has no photos; f adds one."
            } else {
                HIDDEN
            };
            return vec![Effect::Say(why.to_owned())];
        }
        let shown = photo::Model::new(&title(desk, stop), now, before, hidden);
        let names = shown.names();
        vec![Effect::Over(Box::new(Over::Photo(shown))), Effect::ReadPhotos(names)]
    }

    /// Opens the newest photo of this check in the system's viewer.
    pub(super) fn open_photo(&self, desk: &Desk) -> Vec<Effect> {
        let look = desk.stops.get(self.at).and_then(|stop| self.look(desk, stop));
        match look.and_then(|l| l.photos.last()) {
            Some(name) => vec![Effect::OpenPhoto(name.clone())],
            None => vec![Effect::Say(
                "This check has no photos in this survey; f adds one.".to_owned(),
            )],
        }
    }
}

fn title(desk: &Desk, stop: &Stop) -> String {
    format!(
        "{} – {}",
        words::part(&desk.library, &stop.part),
        check_name(desk, stop)
    )
}
