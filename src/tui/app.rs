//! The program behind the screens: which one is shown, what lies over it, and what each message changes.
//!
//! Nothing here touches the terminal, a file or the clock. [`App::update`] takes a message and returns the requests that
//! only the run loop can carry out; [`App::view`] draws the present state.

mod drafts;
mod frame;
mod history;
mod mouse;
mod plain;

use std::sync::Arc;

use super::desk::{CarRow, CarSays, Desk, Keeping, Reckoned, SeriesOf, Tried};
use super::keys::{Command, Input, Key, Place, lookup};
use super::screen::{
    Effect, Name, Over, Then, car, decline, files, fixings, help, new_car, photo, pick, plan, reading, round, sides,
    standing, yard,
};
use crate::car::Car;
use crate::engine::plan::limits::LimitCost;
use crate::store::Draft;

/// What happens to the program.
#[derive(Debug, Clone)]
pub enum Msg {
    /// A key, a paste, a new size.
    Input(Input),
    /// The engine has tried other wishes on a version of the car.
    Tried(u64, Arc<Tried>),
    /// The engine has spoken of what the limits of a version of the car cost.
    Limits(u64, Arc<Vec<LimitCost>>),
    /// A text to read: its heading and paragraphs.
    Read(String, Vec<(String, String)>),
    /// The folders and pictures of a folder, by the path asked for.
    Folder(String, Result<Vec<files::Entry>, String>),
    /// Photos were read.
    Photos(Vec<(String, photo::Read)>),
    /// Something to say that went wrong.
    Wrong(String),
    /// Changes were saved, or could not be.
    Recorded(Result<Arc<Car>, String>, Then),
    /// The engine has spoken of a version of the car.
    Reckoned(u64, Arc<Reckoned>),
    /// The engine has spoken of a series of a version of the car.
    Series(u64, Arc<SeriesOf>),
    /// A car was opened: how it is kept and what was found odd on opening; or why not.
    Opened(Result<(Arc<Car>, Keeping, Vec<String>), String>),
    /// The Yard was listed, or why not.
    Listed(Result<Vec<CarRow>, String>),
    /// What was being typed when the program ended.
    Drafts(Vec<Draft>),
    /// The engine has spoken of a car of the Yard.
    CarSays(String, CarSays),
}

/// A sentence at the foot of the screen.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Sentence {
    words: String,
    /// Whether something went wrong.
    wrong: bool,
}

/// The program.
#[derive(Debug)]
pub struct App {
    /// What all screens see.
    pub desk: Desk,
    now: Name,
    /// Where closing Decline or Fixings goes back to, when it was opened from another screen.
    back: Option<Name>,
    over: Vec<Over>,
    sentence: Option<Sentence>,
    size: (u16, u16),
    demo: bool,
    /// Whether the mouse was asked for.
    mouse: bool,
    history: history::History,
    /// Forms half filled in that are kept.
    drafts: Vec<Draft>,
    /// Cars put away in this sitting, as they were, with what can be taken back.
    left: Vec<(Arc<Car>, history::History)>,
    yard: yard::Model,
    round: round::Model,
    standing: standing::Model,
    sides: sides::Model,
    decline: decline::Model,
    plan: plan::Model,
    fixings: fixings::Model,
    car: car::Model,
}

impl App {
    /// The program with nothing on its desk, in the Yard.
    #[must_use]
    pub fn new(mut desk: Desk, size: (u16, u16)) -> App {
        (desk.columns, desk.rows) = size;
        App {
            desk,
            now: Name::Yard,
            back: None,
            over: Vec::new(),
            sentence: None,
            size,
            demo: false,
            mouse: false,
            history: history::History::default(),
            drafts: Vec::new(),
            left: Vec::new(),
            yard: yard::Model::default(),
            round: round::Model::default(),
            standing: standing::Model::default(),
            sides: sides::Model::default(),
            decline: decline::Model::default(),
            plan: plan::Model::default(),
            fixings: fixings::Model::default(),
            car: car::Model::default(),
        }
    }

    /// Says in the title that everything is kept in memory only.
    pub fn mark_demo(&mut self) {
        self.demo = true;
    }

    /// The mouse was taken at the start.
    pub fn mark_mouse(&mut self) {
        self.mouse = true;
    }

    /// Takes a car in hand and shows what fits it: the Round if nothing has been seen of it, else the Standing.
    pub fn take_in_hand(&mut self, car: Arc<Car>, keeping: Keeping) -> Vec<Effect> {
        let fresh = !car.surveys.iter().any(|s| s.looks.iter().any(|l| l.seen.is_seen()));
        self.desk.reckoned = None;
        self.desk.reckoning = false;
        self.desk.keeping = keeping;
        // What was done to it earlier can be taken back only if nobody has changed it since.
        let known = self.left.iter().position(|(left, _)| *left == car);
        self.history = known.map_or_else(Default::default, |at| self.left.remove(at).1);
        self.desk.lay(car);
        self.round = round::Model::default();
        self.standing = standing::Model::default();
        self.sides = sides::Model::default();
        self.decline = decline::Model::default();
        self.plan = plan::Model::default();
        self.fixings = fixings::Model::default();
        self.car = car::Model::default();
        self.over.clear();
        self.back = None;
        self.drafts.clear();
        self.carry(vec![
            Effect::ReadDrafts,
            Effect::Go(if fresh { Name::Round } else { Name::Standing }),
        ])
    }

    /// Takes a message; returns what only the run loop can do.
    pub fn update(&mut self, msg: Msg) -> Vec<Effect> {
        match msg {
            Msg::Input(input) => self.input(input),
            Msg::Folder(folder, lines) => {
                if let Some(Over::Files(files)) = self.over.last_mut() {
                    files.listed(&folder, lines);
                }
                Vec::new()
            }
            Msg::Photos(read) => {
                // The list of keys may have been opened over them meanwhile.
                let shown = self.over.iter_mut().rev().find_map(|over| match over {
                    Over::Photo(photo) => Some(photo),
                    _ => None,
                });
                if let Some(photo) = shown {
                    photo.take(read);
                }
                Vec::new()
            }
            Msg::Wrong(why) => {
                self.wrong(why);
                Vec::new()
            }
            Msg::Recorded(Ok(car), then) => {
                if let Some(before) = &self.desk.car {
                    match then {
                        Then::Attached(_) => self.history.attached(before, &car),
                        _ => self.history.recorded(before, &then),
                    }
                }
                self.desk.lay(car);
                self.then(then)
            }
            Msg::Recorded(Err(why), _) => {
                self.history.refused();
                self.wrong(format!("Not saved: {why}"));
                Vec::new()
            }
            Msg::Reckoned(version, reckoned) => {
                self.desk.reckoning = false;
                self.desk.reckoned = Some((version, reckoned));
                let mut effects = self.wanted();
                let more = self.round.reckoned(&self.desk);
                effects.extend(self.carry(more));
                if self.now == Name::Decline && self.desk.is_current() {
                    let more = self.decline.entered(&self.desk);
                    effects.extend(self.carry(more));
                }
                effects
            }
            Msg::Series(version, series) => {
                if version == self.desk.version {
                    self.desk.series.push(series);
                }
                Vec::new()
            }
            Msg::Tried(version, tried) => {
                if version == self.desk.version {
                    self.desk.tried = Some(tried);
                }
                Vec::new()
            }
            Msg::Limits(version, limits) => {
                if version == self.desk.version {
                    self.desk.limits = Some(limits);
                }
                Vec::new()
            }
            Msg::Read(heading, paragraphs) => {
                self.sentence = None;
                self.over.push(Over::Reading(reading::Model::new(&heading, paragraphs)));
                Vec::new()
            }
            Msg::Opened(Ok((car, keeping, notices))) => {
                let effects = self.take_in_hand(car, keeping);
                if !notices.is_empty() {
                    self.wrong(notices.join(" "));
                }
                effects
            }
            Msg::Opened(Err(why)) => {
                self.wrong(why);
                Vec::new()
            }
            Msg::Listed(Ok(cars)) => {
                self.desk.cars = Some(cars);
                Vec::new()
            }
            Msg::Listed(Err(why)) => {
                self.desk.cars.get_or_insert_default();
                self.wrong(why);
                Vec::new()
            }
            Msg::Drafts(drafts) => {
                self.knows_drafts(drafts);
                Vec::new()
            }
            Msg::CarSays(id, says) => {
                let rows = self.desk.cars.as_mut();
                if let Some(row) = rows.and_then(|cars| cars.iter_mut().find(|c| c.id == id)) {
                    row.says = Some(says);
                }
                Vec::new()
            }
        }
    }

    /// The places whose keys hold now.
    #[must_use]
    pub fn places(&self) -> Vec<Place> {
        match self.over.last() {
            Some(Over::Help(_) | Over::Reading(_)) => vec![Place::List, Place::Everywhere],
            Some(Over::Confirm(_)) => vec![Place::Confirm, Place::Everywhere],
            Some(Over::Pick(pick)) => pick.places(),
            Some(Over::Files(_)) => vec![Place::Files, Place::Everywhere],
            Some(Over::Photo(_)) => vec![Place::Photo, Place::Everywhere],
            Some(Over::Form(form)) => form.places(),
            None => match self.now {
                Name::Yard => self.yard.places(&self.desk),
                Name::Round => self.round.places(&self.desk),
                Name::Standing => self.standing.places(),
                Name::Sides => self.sides.places(),
                Name::Decline => self.decline.places(),
                Name::Plan => self.plan.places(),
                Name::Fixings => self.fixings.places(),
                Name::Car => self.car.places(),
            },
        }
    }

    fn input(&mut self, input: Input) -> Vec<Effect> {
        match input {
            Input::Resize(columns, rows) => {
                self.size = (columns, rows);
                (self.desk.columns, self.desk.rows) = (columns, rows);
                Vec::new()
            }
            Input::Paste(words) => {
                match self.over.last_mut() {
                    Some(Over::Files(files)) => return files.paste(&words),
                    Some(Over::Form(form)) => {
                        form.paste(&words);
                        return self.keep_draft();
                    }
                    Some(Over::Pick(pick)) => pick.paste(&words),
                    _ => {}
                }
                Vec::new()
            }
            Input::Key(key) => self.key(key),
            Input::Click(x, y) => self.click(x, y),
            Input::Wheel(down) => self.wheel(down),
        }
    }

    fn key(&mut self, key: Key) -> Vec<Effect> {
        let typed = self.now == Name::Fixings && self.over.is_empty();
        // The name of a thread begins with the letter that takes the mouse elsewhere.
        let command = lookup(&self.places(), key).filter(|command| !(typed && *command == Command::Mouse));
        if frame::too_small(self.size) && !matches!(command, Some(Command::Quit | Command::Suspend)) {
            // Nothing of the screen can be seen, so nothing on it may change; q leaves as it does anywhere.
            let leave = matches!(key, Key::Char('q') | Key::Esc);
            return if leave { vec![Effect::Quit] } else { Vec::new() };
        }
        self.sentence = None;
        let effects = match command {
            Some(Command::Quit) => vec![Effect::Quit],
            Some(Command::Suspend) => vec![Effect::Suspend],
            Some(Command::Mouse) => {
                self.mouse = !self.mouse;
                self.say(mouse::said(self.mouse).to_owned());
                vec![Effect::Mouse(self.mouse)]
            }
            Some(command) => self.command(command),
            None => {
                match self.over.last_mut() {
                    Some(Over::Files(files)) => return files.type_key(key),
                    Some(Over::Form(form)) => {
                        form.type_key(key);
                        return self.typed_in_form(key);
                    }
                    Some(Over::Pick(pick)) => pick.type_key(key),
                    Some(_) => {}
                    None if self.now == Name::Round => self.round.type_key(&self.desk, key),
                    None if self.now == Name::Fixings => self.fixings.type_key(&self.desk, key),
                    None => {}
                }
                Vec::new()
            }
        };
        self.carry(effects)
    }

    fn command(&mut self, command: Command) -> Vec<Effect> {
        if command == Command::Help && !matches!(self.over.last(), Some(Over::Help(_))) {
            return vec![Effect::Over(Box::new(Over::Help(help::Model::new(self.places()))))];
        }
        match self.over.last_mut() {
            Some(Over::Help(help)) => {
                return if help.update(command, self.size) {
                    vec![Effect::CloseOver]
                } else {
                    Vec::new()
                };
            }
            Some(Over::Reading(text)) => {
                return if text.update(command, self.size) {
                    vec![Effect::CloseOver]
                } else {
                    Vec::new()
                };
            }
            Some(Over::Confirm(ask)) => {
                return match ask.update(command) {
                    Some(effects) => {
                        self.over.pop();
                        effects
                    }
                    None => Vec::new(),
                };
            }
            Some(Over::Pick(pick)) => return pick.update(&self.desk, command),
            Some(Over::Files(files)) => return files.update(command),
            Some(Over::Photo(photo)) => return photo.update(command),
            Some(Over::Form(form)) => {
                let mut effects = form.update(&self.desk, command);
                // Nothing is to be kept of what is being saved or thrown away.
                if effects.is_empty() {
                    effects = self.keep_draft();
                }
                return effects;
            }
            None => {}
        }
        match command {
            Command::Undo if self.now == Name::Plan && self.plan.forget_tried() => Vec::new(),
            Command::Undo => self.undo(),
            Command::Redo => self.redo(),
            Command::Go(name) => vec![Effect::Go(name)],
            Command::Close => self.close(),
            _ => match self.now {
                Name::Yard => self.yard.update(&self.desk, command),
                Name::Round => self.round.update(&self.desk, command),
                Name::Standing => self.standing.update(&self.desk, command),
                Name::Sides => self.sides.update(&self.desk, command),
                Name::Decline => self.decline.update(&self.desk, command),
                Name::Plan => self.plan.update(&self.desk, command),
                Name::Fixings => self.fixings.update(&self.desk, command),
                Name::Car => self.car.update(&self.desk, command),
            },
        }
    }

    /// Closes the top layer that is no dialogue.
    fn close(&mut self) -> Vec<Effect> {
        if self.now == Name::Round && (self.round.stop_asking() || self.round.leave_again()) {
            return Vec::new();
        }
        let held_back = match self.now {
            Name::Standing => self.standing.clear_sieve(),
            Name::Sides => self.sides.clear_sieve(),
            Name::Plan => self.plan.clear_sieve(),
            Name::Fixings => self.fixings.clear_sieve(),
            Name::Car => self.car.clear_sieve(),
            _ => false,
        };
        if held_back {
            return Vec::new();
        }
        if self.now == Name::Plan && (self.plan.close_visit() || self.plan.back_to_visits()) {
            return Vec::new();
        }
        let from_another = matches!(self.now, Name::Decline | Name::Fixings);
        if let Some(back) = self.back.take().filter(|_| from_another) {
            return vec![Effect::Go(back)];
        }
        if self.now != Name::Yard && self.desk.cars.is_some() {
            return vec![Effect::Go(Name::Yard)];
        }
        vec![Effect::Quit]
    }

    /// What follows a saved change.
    fn then(&mut self, then: Then) -> Vec<Effect> {
        match then {
            Then::Nothing | Then::FirstChosen => {}
            Then::Say(words) => self.say(words),
            Then::Looked(at) => self.round.looked(&self.desk, at),
            Then::LookedAgain => {
                let more = self.round.looked_again(&self.desk);
                let mut effects = self.carry(more);
                effects.extend(self.wanted());
                return effects;
            }
            Then::Undone | Then::Redone => {
                // What was on trial was tried on wishes that may not be there any more.
                self.plan.drop_trial();
                let back = then == Then::Undone;
                let changes = self.history.newest(back).to_vec();
                let more = self.round.laid_anew(&self.desk, &changes);
                let mut effects = self.carry(more);
                self.say(history::said(&self.desk, &changes, back));
                effects.extend(self.wanted());
                return effects;
            }
            Then::CloseForm(words) | Then::Attached(words) => {
                let mut effects = self.close_top();
                self.say(words);
                effects.extend(self.wanted());
                return effects;
            }
            Then::Begun(date, first) => {
                let mut effects = self.close_top();
                let more = self.round.begun(&self.desk, date, first);
                effects.extend(self.carry(more));
                return effects;
            }
        }
        self.wanted()
    }

    /// Carries out the requests that only move between screens; returns the others.
    fn carry(&mut self, effects: Vec<Effect>) -> Vec<Effect> {
        let mut outside = Vec::new();
        for effect in effects {
            match effect {
                Effect::Go(Name::Yard) if self.desk.cars.is_none() => {
                    self.say("This car was opened by itself; start `tinworm` alone for all cars.".to_owned());
                }
                Effect::Go(Name::Yard) => {
                    self.now = Name::Yard;
                    self.back = None;
                    if let Some(car) = self.desk.car.take() {
                        self.left.push((car, std::mem::take(&mut self.history)));
                    }
                    outside.extend([Effect::PutAway, Effect::ReadDrafts, Effect::ListCars]);
                }
                Effect::Go(name) => {
                    self.now = name;
                    self.back = None;
                    outside.extend(self.wanted());
                    let more = match name {
                        Name::Round => self.round.entered(&self.desk),
                        Name::Decline if self.desk.is_current() => self.decline.entered(&self.desk),
                        _ => Vec::new(),
                    };
                    outside.extend(self.carry(more));
                }
                Effect::ShowDecline(part, check) => {
                    let from = self.now;
                    self.decline.show(&self.desk, part, check);
                    let more = self.carry(vec![Effect::Go(Name::Decline)]);
                    outside.extend(more);
                    self.back = Some(from);
                }
                Effect::ShowFixing(part, fixing) => {
                    let from = self.now;
                    self.fixings.show(&self.desk, part, fixing);
                    let more = self.carry(vec![Effect::Go(Name::Fixings)]);
                    outside.extend(more);
                    self.back = Some(from);
                }
                Effect::Over(over) => self.open_over(*over),
                Effect::CloseOver => outside.extend(self.close_top()),
                Effect::Create(profile) => {
                    if let Some(Over::Form(form)) = self.over.last().cloned() {
                        outside.extend(self.drop_draft(&form));
                    }
                    outside.push(Effect::Create(profile));
                }
                Effect::Chosen(purpose, line) => {
                    let more = match purpose {
                        pick::For::Round => {
                            self.round.go_to(line);
                            Vec::new()
                        }
                        pick::For::RoundPlace => {
                            self.round.go_to_place(&self.desk, line);
                            Vec::new()
                        }
                        pick::For::NewCar => vec![new_car::form(&self.desk, Some(line)).over()],
                        pick::For::Decline => self.decline.chosen(&self.desk, line),
                        pick::For::Fixing => {
                            self.fixings.chosen(&self.desk, line);
                            Vec::new()
                        }
                        pick::For::Line => {
                            match self.now {
                                Name::Standing => self.standing.go_to(line),
                                Name::Sides => self.sides.go_to(line),
                                Name::Plan => self.plan.go_to(line),
                                _ => {}
                            }
                            Vec::new()
                        }
                        pick::For::Parts => {
                            self.car.chosen(line);
                            Vec::new()
                        }
                    };
                    outside.extend(self.carry(more));
                }
                Effect::Say(words) => self.say(words),
                Effect::Reckon(_) if self.desk.reckoning => {}
                Effect::Reckon(version) => {
                    self.desk.reckoning = true;
                    outside.push(Effect::Reckon(version));
                }
                Effect::Record { changes, then } => match &self.desk.keeping {
                    Keeping::ReadOnly(who) => self.wrong(format!("Not saved: {who}")),
                    _ => {
                        self.history.asked(changes.clone());
                        outside.push(Effect::Record { changes, then });
                    }
                },
                other => outside.push(other),
            }
        }
        outside
    }

    /// Asks the engine when the screen shown needs its word and it has not been asked for this version of the car.
    fn wanted(&mut self) -> Vec<Effect> {
        if self.desk.car.is_some() && self.now.needs_reckoning() && !self.desk.is_current() && !self.desk.reckoning {
            self.desk.reckoning = true;
            return vec![Effect::Reckon(self.desk.version)];
        }
        Vec::new()
    }

    fn say(&mut self, words: String) {
        self.sentence = Some(Sentence { words, wrong: false });
    }

    fn wrong(&mut self, words: String) {
        self.sentence = Some(Sentence { words, wrong: true });
    }
}
