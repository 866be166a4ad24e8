//! Forms half filled in: kept beside the car word by word, and put back when the same form is opened again after the program was
//! ended without warning.

use super::App;
use crate::store::Draft;
use crate::tui::desk::Keeping;
use crate::tui::keys::Key;
use crate::tui::screen::{Effect, Over, form};

/// How many forms are kept; the oldest goes first.
const MOST: usize = 20;

/// What is said when a form comes back as it was being filled in.
pub const BACK: &str = "What you had typed here is back: the program had ended before it was saved.";

impl App {
    /// What was kept is known.
    pub(super) fn knows_drafts(&mut self, drafts: Vec<Draft>) {
        self.drafts = drafts;
    }

    /// A key was typed into the form on top: at the end of a word it is kept.
    pub(super) fn typed_in_form(&mut self, key: Key) -> Vec<Effect> {
        match key {
            Key::Char(c) if c.is_alphanumeric() => Vec::new(),
            _ => self.keep_draft(),
        }
    }

    /// Keeps the form on top as it stands, if it is worth it and has changed since it was kept.
    pub fn keep_draft(&mut self) -> Vec<Effect> {
        // A question about the form may lie over it.
        let form = self.over.iter().rev().find_map(|over| match over {
            Over::Form(form) => Some(form),
            _ => None,
        });
        let Some(draft) = form.and_then(form::Model::draft) else {
            return Vec::new();
        };
        if self.drafts.contains(&draft) || (self.desk.car.is_some() && self.desk.keeping != Keeping::Disk) {
            return Vec::new();
        }
        self.drafts.retain(|kept| kept.of != draft.of);
        self.drafts.push(draft);
        if self.drafts.len() > MOST {
            self.drafts.remove(0);
        }
        vec![Effect::KeepDrafts(self.drafts.clone())]
    }

    /// A form is closed, saved or thrown away: nothing of it is to come back.
    pub(super) fn drop_draft(&mut self, form: &form::Model) -> Vec<Effect> {
        let of = form.key();
        if !self.drafts.iter().any(|kept| kept.of == of) {
            return Vec::new();
        }
        self.drafts.retain(|kept| kept.of != of);
        vec![Effect::KeepDrafts(self.drafts.clone())]
    }

    /// Takes the top layer away; returns what follows if it was a form.
    pub(super) fn close_top(&mut self) -> Vec<Effect> {
        match self.over.pop() {
            Some(Over::Form(form)) => self.drop_draft(&form),
            _ => Vec::new(),
        }
    }

    /// Lays a screen over the present one; a form that is kept half filled in is put back so.
    pub(super) fn open_over(&mut self, mut over: Over) {
        if let Over::Form(form) = &mut over
            && let Some(draft) = self.drafts.iter().find(|kept| kept.of == form.key())
            && form.take_draft(&draft.lines)
        {
            self.say(BACK.to_owned());
        }
        self.over.push(over);
    }
}
