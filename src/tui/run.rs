//! The run loop: the only place that touches the terminal and carries out what the screens ask for.
//!
//! Three senders feed one channel: a thread that reads the terminal, a thread that waits for signals, and the engine's
//! workers. The loop blocks on the channel and draws only after a message, so an idle program writes nothing.

mod modes;
#[cfg(unix)]
mod signals;
#[cfg(not(unix))]
#[path = "run/no_signals.rs"]
mod signals;
// Compiled with the tests everywhere, so that it cannot rot unseen.
#[cfg(all(unix, test))]
#[allow(dead_code)]
mod no_signals;
mod viewer;

use std::io::{IsTerminal, Write, stdout};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::Duration;

use crossterm::event;
use crossterm::execute;
use crossterm::terminal::{BeginSynchronizedUpdate, EndSynchronizedUpdate};
use jiff::civil::Date;
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;

use super::app::{App, Msg};
use super::desk::{Desk, Reckoned};
use super::keys::{Input, from_event};
use super::screen::{Effect, Then};
use super::theme::Theme;
use super::world::{self, World};
use super::{Drawn, Start, TuiError};
use crate::car::Car;
use crate::engine::memory::Memory;
use crate::rubric::Library;
use signals::Asked;

/// What comes through the channel.
enum Event {
    /// The terminal sent something.
    Terminal(event::Event),
    /// The terminal can no longer be read.
    TerminalGone,
    /// The system wants something of the program.
    System(Asked),
    /// A worker has finished.
    Worker(Msg),
}

/// How often the terminal is asked whether it is still there while nothing happens.
const STILL_THERE: Duration = Duration::from_secs(2);

/// The number of the signal that a terminal sends when it goes away.
const HANG_UP: i32 = 1;

/// Opens the screens in a given drawing and returns when they are left.
///
/// # Errors
/// When there is no terminal that can show them, the terminal refuses, or a signal ended the program.
pub fn run_with(start: Start, drawn: Drawn) -> Result<(), TuiError> {
    let dumb = std::env::var_os("TERM").is_none_or(|t| t == "dumb" || t.is_empty());
    if !stdout().is_terminal() || dumb {
        return Err(TuiError::NotATerminal);
    }
    let (send, receive) = channel();
    modes::restore_on_panic();
    let ending = Arc::new(AtomicBool::new(false));
    let to_loop = send.clone();
    signals::listen(Arc::clone(&ending), move |asked| {
        let _ = to_loop.send(Event::System(asked));
    })?;
    let raised = modes::Raised::new()?;
    read_terminal(send.clone());
    let result = Loop::new(start, drawn, send)?.run(&receive);
    drop(raised);
    ending.store(true, Ordering::SeqCst);
    result
}

/// Reads the terminal for as long as it can be read.
fn read_terminal(send: Sender<Event>) {
    thread::spawn(move || {
        loop {
            let message = match event::read() {
                Ok(event) => Event::Terminal(event),
                Err(why) if why.kind() == std::io::ErrorKind::Interrupted => continue,
                Err(_) => Event::TerminalGone,
            };
            let gone = matches!(message, Event::TerminalGone);
            if send.send(message).is_err() || gone {
                return;
            }
        }
    });
}

type Screen = Terminal<CrosstermBackend<std::io::Stdout>>;

/// The loop and all it holds.
struct Loop {
    app: App,
    world: World,
    library: Arc<Library>,
    today: Date,
    send: Sender<Event>,
    terminal: Screen,
    /// What the engine has reckoned of the car in hand.
    memory: Arc<Mutex<Memory>>,
}

/// Why the loop goes on or ends.
enum Next {
    Go,
    Quit,
}

impl Loop {
    fn new(start: Start, drawn: Drawn, send: Sender<Event>) -> Result<Loop, TuiError> {
        let terminal = Terminal::new(CrosstermBackend::new(stdout()))?;
        let size = terminal.size()?;
        let theme = Theme::from_environment(drawn, |name| std::env::var(name).ok());
        let (library, today, world, demo) = match start {
            Start::Yard { folder, library, today } => (library, today, World::yard(folder).on(today), false),
            Start::Car { car, library, today } => (library, today, World::car(*car).on(today), false),
            Start::Demo { car, library, today } => (library, today, World::memory(*car), true),
        };
        let library = Arc::new(library);
        let mut app = App::new(Desk::new(Arc::clone(&library), today, theme), (size.width, size.height));
        if demo {
            app.mark_demo();
        }
        if drawn.mouse {
            modes::mouse(true)?;
            app.mark_mouse();
        }
        Ok(Loop {
            app,
            world,
            library,
            today,
            send,
            terminal,
            memory: Arc::default(),
        })
    }

    fn run(&mut self, receive: &Receiver<Event>) -> Result<(), TuiError> {
        let first = match self.world.in_hand() {
            Some(opened) => self.app.update(Msg::Opened(Ok(opened))),
            None => vec![Effect::ReadDrafts, Effect::ListCars],
        };
        self.carry_out(first)?;
        self.draw()?;
        let ended = loop {
            let next = match receive.recv_timeout(STILL_THERE) {
                Ok(Event::Terminal(event)) => self.terminal_event(event, receive)?,
                Ok(Event::Worker(msg)) => self.tell(msg)?,
                Ok(Event::System(Asked::GoOn)) => {
                    self.raise_again()?;
                    Next::Go
                }
                Ok(Event::System(Asked::End(number))) => break Err(TuiError::Signal(number)),
                Ok(Event::TerminalGone) | Err(RecvTimeoutError::Disconnected) => break Err(TuiError::Signal(HANG_UP)),
                Err(RecvTimeoutError::Timeout) => {
                    if signals::hung_up() {
                        break Err(TuiError::Signal(HANG_UP));
                    }
                    continue;
                }
            };
            match next {
                Next::Go => self.draw()?,
                Next::Quit => break Ok(()),
            }
        };
        // Whatever ends the program: a form half filled in is kept to its last letter.
        let typed = self.app.keep_draft();
        let _ = self.carry_out(typed);
        self.world.put_away();
        ended
    }

    /// Takes a terminal event and all that wait behind it, so that a burst of keys costs one drawing.
    fn terminal_event(&mut self, event: event::Event, receive: &Receiver<Event>) -> Result<Next, TuiError> {
        let mut next = Some(event);
        while let Some(event) = next.take() {
            if let Some(input) = from_event(event) {
                if let Input::Resize(columns, rows) = input {
                    self.terminal.resize(ratatui::layout::Rect::new(0, 0, columns, rows))?;
                }
                if let Next::Quit = self.tell(Msg::Input(input))? {
                    return Ok(Next::Quit);
                }
            }
            match receive.try_recv() {
                Ok(Event::Terminal(event)) => next = Some(event),
                Ok(other) => {
                    // Back into the channel; order among senders does not matter.
                    let _ = self.send.send(other);
                }
                Err(_) => {}
            }
        }
        Ok(Next::Go)
    }

    fn tell(&mut self, msg: Msg) -> Result<Next, TuiError> {
        let effects = self.app.update(msg);
        self.carry_out(effects)
    }

    /// Carries out requests, and those that follow from their answers.
    fn carry_out(&mut self, effects: Vec<Effect>) -> Result<Next, TuiError> {
        let mut waiting: std::collections::VecDeque<Effect> = effects.into();
        while let Some(effect) = waiting.pop_front() {
            let answer = match effect {
                Effect::Quit => return Ok(Next::Quit),
                Effect::Suspend => {
                    self.suspend()?;
                    continue;
                }
                Effect::Mouse(wanted) => {
                    modes::mouse(wanted)?;
                    continue;
                }
                Effect::Record { changes, then } => Msg::Recorded(self.world.record(changes), then),
                Effect::ReadDrafts => Msg::Drafts(self.world.read_drafts()),
                Effect::KeepDrafts(drafts) => {
                    self.world.keep_drafts(&drafts);
                    continue;
                }
                Effect::OpenCar(id) => self.world.open(&id),
                Effect::Create(profile) => self.world.create(*profile),
                Effect::PutAway => {
                    self.world.put_away();
                    continue;
                }
                Effect::ListCars => {
                    let (listed, cars) = self.world.list();
                    self.reckon_yard(cars);
                    listed
                }
                Effect::Reckon(version) => {
                    self.reckon(version);
                    continue;
                }
                Effect::Series { part, check, years } => {
                    self.series((part, check, years));
                    continue;
                }
                Effect::Try(wishes) => {
                    self.ask(move |version, car, library, reckoned| {
                        Msg::Tried(version, Arc::new(world::tried(car, library, reckoned, *wishes)))
                    });
                    continue;
                }
                Effect::ListFolder(typed) => {
                    let lines = world::photos::folder(&typed);
                    Msg::Folder(typed, lines)
                }
                Effect::Attach { to, path } => match self.world.attach(&to, &path) {
                    Ok((car, said)) => Msg::Recorded(Ok(car), Then::Attached(said)),
                    Err(why) => Msg::Recorded(Err(why), Then::Nothing),
                },
                Effect::ReadPhotos(names) => {
                    self.read_photos(names);
                    continue;
                }
                Effect::OpenPhoto(name) => match self.world.photo_file(&name).and_then(|file| viewer::open(&file)) {
                    Ok(()) => continue,
                    Err(why) => Msg::Wrong(why),
                },
                Effect::Limits => {
                    self.ask(|version, car, library, reckoned| {
                        Msg::Limits(version, Arc::new(world::limits(car, library, reckoned)))
                    });
                    continue;
                }
                Effect::Alternatives(part) => {
                    self.ask(move |_, car, library, reckoned| {
                        let (heading, paragraphs) = world::alternatives(car, library, reckoned, &part);
                        Msg::Read(heading, paragraphs)
                    });
                    continue;
                }
                Effect::LookBack => {
                    self.ask(|_, car, library, reckoned| {
                        let (heading, paragraphs) = world::looking_back(car, library, reckoned);
                        Msg::Read(heading, paragraphs)
                    });
                    continue;
                }
                // The others move between screens and were carried out by the App.
                _ => continue,
            };
            waiting.extend(self.app.update(answer));
        }
        Ok(Next::Go)
    }

    fn reckon(&self, version: u64) {
        let Some(car) = self.app.desk.car.clone() else { return };
        let (library, today, send) = (Arc::clone(&self.library), self.today, self.send.clone());
        let memory = Arc::clone(&self.memory);
        thread::spawn(move || {
            let mut memory = memory.lock().unwrap_or_else(PoisonError::into_inner);
            let reckoned = Arc::new(world::reckon(&car, &library, today, &mut memory));
            drop(memory);
            let _ = send.send(Event::Worker(Msg::Reckoned(version, reckoned)));
        });
    }

    /// Asks the engine something about what it said of the car as it is now.
    fn ask(&self, question: impl FnOnce(u64, &Car, &Library, &Reckoned) -> Msg + Send + 'static) {
        let desk = &self.app.desk;
        let (Some(car), Some((version, reckoned))) = (desk.car.clone(), desk.reckoned.clone()) else {
            return;
        };
        if version != desk.version {
            return;
        }
        let (library, send) = (Arc::clone(&self.library), self.send.clone());
        thread::spawn(move || {
            let _ = send.send(Event::Worker(question(version, &car, &library, &reckoned)));
        });
    }

    fn series(&self, of: (crate::rubric::PartId, String, u8)) {
        let Some(car) = self.app.desk.car.clone() else { return };
        let version = self.app.desk.version;
        let (library, today, send) = (Arc::clone(&self.library), self.today, self.send.clone());
        let memory = Arc::clone(&self.memory);
        thread::spawn(move || {
            let memory = memory.lock().unwrap_or_else(PoisonError::into_inner);
            let series = Arc::new(world::series(&car, &library, today, of, &memory));
            drop(memory);
            let _ = send.send(Event::Worker(Msg::Series(version, series)));
        });
    }

    /// Reads photos aside, one after another: large ones take a while, and keys must not wait for them.
    fn read_photos(&self, names: Vec<String>) {
        let (photos, send) = (self.world.photos(), self.send.clone());
        thread::spawn(move || {
            for name in names {
                let read = world::photos::read(&photos, &name);
                if send.send(Event::Worker(Msg::Photos(vec![(name, read)]))).is_err() {
                    return;
                }
            }
        });
    }

    fn reckon_yard(&self, cars: Vec<(String, Car)>) {
        let (library, today, send) = (Arc::clone(&self.library), self.today, self.send.clone());
        thread::spawn(move || {
            let shared = Memory::new();
            for (id, car) in cars {
                let says = world::says(&car, &library, today, &mut shared.for_another_car());
                if send.send(Event::Worker(Msg::CarSays(id, says))).is_err() {
                    return;
                }
            }
        });
    }

    fn draw(&mut self) -> Result<(), TuiError> {
        execute!(stdout(), BeginSynchronizedUpdate)?;
        let app = &self.app;
        let drawn = self.terminal.draw(|frame| {
            let area = frame.area();
            if let Some(place) = app.view(area, frame.buffer_mut()) {
                frame.set_cursor_position(place);
            }
        });
        let ended = execute!(stdout(), EndSynchronizedUpdate);
        drawn?;
        ended?;
        stdout().flush()?;
        Ok(())
    }

    /// Hands the terminal back to the shell until it says to go on.
    fn suspend(&mut self) -> Result<(), TuiError> {
        if !signals::can_stop() {
            return Ok(());
        }
        modes::leave();
        signals::stop()?;
        // The signal to go on comes through the channel as well; raising twice does no harm.
        self.raise_again()
    }

    /// Takes the terminal again and draws everything anew, without asking it anything.
    fn raise_again(&mut self) -> Result<(), TuiError> {
        modes::enter()?;
        let size = self.terminal.size()?;
        self.terminal.resize(size.into())?;
        let _ = self.app.update(Msg::Input(Input::Resize(size.width, size.height)));
        Ok(())
    }
}
