//! The screens, driven by keys and drawn into a buffer: text and styles, at several sizes, with colours and without.

#![allow(clippy::unwrap_used, clippy::panic)]

mod beginning;
mod drafts;
mod fixings;
mod fixture;
mod going_back;
mod key_counts;
mod layout;
mod photos;
mod pictures;
mod round;
mod second_look;
mod sieve;
mod svg;
mod work;

use std::fmt::Write;
use std::sync::{Arc, Mutex, OnceLock};

use jiff::civil::Date;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Style};
use tinworm::car::Car;
use tinworm::demo;
use tinworm::engine::memory::Memory;
use tinworm::rubric::{Library, PartId, builtin};
use tinworm::tui::app::{App, Msg};
use tinworm::tui::desk::{Desk, Keeping, Reckoned, SeriesOf};
use tinworm::tui::keys::{Input, Key};
use tinworm::tui::screen::{Effect, Then};
use tinworm::tui::theme::{Colours, Ground, Theme};
use tinworm::tui::world::World;

/// Somebody at the screens: keys in, pictures out; what the screens ask for is done at once.
pub struct Sitting {
    pub app: App,
    pub world: World,
    /// What the engine is made to say; the real engine speaks if this is `None`.
    pub reckoned: Option<Arc<Reckoned>>,
    /// Every save fails with this sentence while it is set.
    pub disk_refuses: Option<String>,
    /// How many changes were saved.
    pub saved: usize,
    /// Whether leaving was asked for.
    pub left: bool,
    /// Photos that were to be opened in the viewer.
    pub opened: Vec<std::path::PathBuf>,
    today: Date,
    size: (u16, u16),
}

/// The real forecast of one check of the demo car, reckoned once for all tests.
fn real_series(part: &PartId, check: &str, years: u8) -> SeriesOf {
    static SERIES: OnceLock<Mutex<Vec<SeriesOf>>> = OnceLock::new();
    let mut kept = SERIES.get_or_init(Mutex::default).lock().unwrap();
    if let Some(known) = kept
        .iter()
        .find(|s| s.part == *part && s.check == check && s.years == years)
    {
        return known.clone();
    }
    let of = (part.clone(), check.to_owned(), years);
    let series = tinworm::tui::world::series(&demo::car(), builtin::library(), demo::today(), of, &Memory::new());
    kept.push(series.clone());
    series
}

impl Sitting {
    pub fn new(library: Library, car: Car, size: (u16, u16), theme: Theme) -> Sitting {
        Sitting::at(library, World::memory(car), size, theme)
    }

    pub fn at(library: Library, world: World, size: (u16, u16), theme: Theme) -> Sitting {
        Sitting::on(fixture::TODAY, library, world, None, size, theme)
    }

    fn on(
        today: Date,
        library: Library,
        world: World,
        reckoned: Option<Arc<Reckoned>>,
        size: (u16, u16),
        theme: Theme,
    ) -> Sitting {
        let app = App::new(Desk::new(Arc::new(library), today, theme), size);
        let mut sitting = Sitting {
            today,
            app,
            world,
            reckoned,
            disk_refuses: None,
            saved: 0,
            left: false,
            opened: Vec::new(),
            size,
        };
        match sitting.world.in_hand() {
            Some((car, keeping, notices)) => {
                // As if on disk, so that the title does not speak of memory.
                let keeping = if keeping == Keeping::Memory {
                    Keeping::Disk
                } else {
                    keeping
                };
                sitting.tell(Msg::Opened(Ok((car, keeping, notices))));
            }
            None => sitting.carry_out(vec![Effect::ReadDrafts, Effect::ListCars]),
        }
        sitting
    }

    /// The fixture's car with its hand-made values.
    pub fn usual(size: (u16, u16), theme: Theme) -> Sitting {
        Sitting::told(fixture::reckoned(), size, theme)
    }

    /// The fixture's car with other values.
    pub fn told(reckoned: Reckoned, size: (u16, u16), theme: Theme) -> Sitting {
        let mut sitting = Sitting::new(fixture::library(), fixture::fresh("Blue estate"), size, theme);
        sitting.reckoned = Some(Arc::new(reckoned));
        sitting.world = World::memory(fixture::car("Blue estate"));
        let (car, _, _) = sitting.world.in_hand().expect("a car");
        sitting.tell(Msg::Opened(Ok((car, Keeping::Disk, Vec::new()))));
        sitting
    }

    /// The demo car with what the real engine says of it, reckoned once for all tests.
    pub fn demo(size: (u16, u16), theme: Theme) -> Sitting {
        static RECKONED: OnceLock<Arc<Reckoned>> = OnceLock::new();
        let (library, today) = (builtin::library(), demo::today());
        let reckoned = RECKONED.get_or_init(|| {
            Arc::new(tinworm::tui::world::reckon(
                &demo::car(),
                library,
                today,
                &mut Memory::new(),
            ))
        });
        let world = World::memory(demo::car());
        Sitting::on(today, library.clone(), world, Some(Arc::clone(reckoned)), size, theme)
    }

    pub fn car(&self) -> Arc<Car> {
        self.world.in_hand().expect("a car").0
    }

    pub fn tell(&mut self, msg: Msg) {
        let effects = self.app.update(msg);
        self.carry_out(effects);
    }

    fn carry_out(&mut self, effects: Vec<Effect>) {
        for effect in effects {
            match effect {
                Effect::Quit => self.left = true,
                Effect::Record { changes, then } => {
                    let result = match &self.disk_refuses {
                        Some(why) => Err(why.clone()),
                        None => self.world.record(changes),
                    };
                    self.saved += usize::from(result.is_ok());
                    self.tell(Msg::Recorded(result, then));
                }
                Effect::Reckon(version) => {
                    let car = self.app.desk.car.clone().expect("a car");
                    let reckoned = self.reckoned.clone().unwrap_or_else(|| {
                        Arc::new(tinworm::tui::world::reckon(
                            &car,
                            &self.app.desk.library,
                            self.today,
                            &mut Memory::new(),
                        ))
                    });
                    self.tell(Msg::Reckoned(version, reckoned));
                }
                Effect::Series { part, check, years } => {
                    let version = self.app.desk.version;
                    let series = if self.today == demo::today() {
                        real_series(&part, &check, years)
                    } else {
                        fixture::series(&part.to_string(), &check, years)
                    };
                    self.tell(Msg::Series(version, Arc::new(series)));
                }
                Effect::Try(wishes) => {
                    let (car, reckoned, version) = self.asked();
                    let tried = tinworm::tui::world::tried(&car, &self.app.desk.library, &reckoned, *wishes);
                    self.tell(Msg::Tried(version, Arc::new(tried)));
                }
                Effect::Limits => {
                    let (car, reckoned, version) = self.asked();
                    let limits = tinworm::tui::world::limits(&car, &self.app.desk.library, &reckoned);
                    self.tell(Msg::Limits(version, Arc::new(limits)));
                }
                Effect::Alternatives(part) => {
                    let (car, reckoned, _) = self.asked();
                    let (heading, text) =
                        tinworm::tui::world::alternatives(&car, &self.app.desk.library, &reckoned, &part);
                    self.tell(Msg::Read(heading, text));
                }
                Effect::LookBack => {
                    let (car, reckoned, _) = self.asked();
                    let (heading, text) = tinworm::tui::world::looking_back(&car, &self.app.desk.library, &reckoned);
                    self.tell(Msg::Read(heading, text));
                }
                Effect::ReadDrafts => {
                    let drafts = self.world.read_drafts();
                    self.tell(Msg::Drafts(drafts));
                }
                Effect::KeepDrafts(drafts) => self.world.keep_drafts(&drafts),
                Effect::ListCars => {
                    let (listed, _) = self.world.list();
                    self.tell(listed);
                }
                Effect::OpenCar(id) => {
                    let opened = self.world.open(&id);
                    self.tell(opened);
                }
                Effect::Create(profile) => {
                    let opened = self.world.create(*profile);
                    self.tell(opened);
                }
                Effect::ListFolder(typed) => {
                    let lines = tinworm::tui::world::photos::folder(&typed);
                    self.tell(Msg::Folder(typed, lines));
                }
                Effect::Attach { to, path } => {
                    let told = match self.world.attach(&to, &path) {
                        Ok((car, said)) => Msg::Recorded(Ok(car), Then::Attached(said)),
                        Err(why) => Msg::Recorded(Err(why), Then::Nothing),
                    };
                    self.tell(told);
                }
                Effect::ReadPhotos(names) => {
                    let photos = self.world.photos();
                    let read = |name: String| {
                        let read = tinworm::tui::world::photos::read(&photos, &name);
                        (name, read)
                    };
                    self.tell(Msg::Photos(names.into_iter().map(read).collect()));
                }
                Effect::OpenPhoto(name) => match self.world.photo_file(&name) {
                    Ok(file) => self.opened.push(file),
                    Err(why) => self.tell(Msg::Wrong(why)),
                },
                Effect::PutAway => self.world.put_away(),
                _ => {}
            }
        }
    }

    /// The car in hand with what was said of it.
    fn asked(&self) -> (Arc<Car>, Arc<Reckoned>, u64) {
        let desk = &self.app.desk;
        let (version, reckoned) = desk.reckoned.clone().expect("the engine has spoken");
        (desk.car.clone().expect("a car"), reckoned, version)
    }

    pub fn key(&mut self, key: Key) {
        self.tell(Msg::Input(Input::Key(key)));
    }

    /// Presses printable keys one after another.
    pub fn keys(&mut self, keys: &str) {
        for c in keys.chars() {
            self.key(Key::Char(c));
        }
    }

    pub fn resize(&mut self, size: (u16, u16)) {
        self.size = size;
        self.tell(Msg::Input(Input::Resize(size.0, size.1)));
    }

    pub fn buffer(&self) -> Buffer {
        let area = Rect::new(0, 0, self.size.0, self.size.1);
        let mut buffer = Buffer::empty(area);
        let _ = self.app.view(area, &mut buffer);
        buffer
    }

    pub fn text(&self) -> String {
        text_of(&self.buffer())
    }
}

pub fn dark() -> Theme {
    Theme::fixed(Colours::Indexed, Ground::Dark)
}

pub fn plain() -> Theme {
    Theme::fixed(Colours::None, Ground::Dark)
}

/// The rows of a buffer as text; the cell behind a wide character is left out.
pub fn text_of(buffer: &Buffer) -> String {
    let mut out = String::new();
    for y in 0..buffer.area.height {
        let mut line = String::new();
        let mut skip = 0;
        for x in 0..buffer.area.width {
            let Some(cell) = buffer.cell((x, y)) else { continue };
            if skip > 0 {
                skip -= 1;
                continue;
            }
            line.push_str(cell.symbol());
            skip = tinworm::text::width(cell.symbol()).saturating_sub(1);
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
    out
}

/// The styled stretches of a buffer, a line for each row that has any.
pub fn styles_of(buffer: &Buffer) -> String {
    let mut out = String::new();
    for y in 0..buffer.area.height {
        let mut runs: Vec<(u16, u16, Style)> = Vec::new();
        for x in 0..buffer.area.width {
            let Some(cell) = buffer.cell((x, y)) else { continue };
            let style = Style::new().fg(cell.fg).bg(cell.bg).add_modifier(cell.modifier);
            match runs.last_mut() {
                Some((_, end, last)) if *last == style => *end = x,
                _ => runs.push((x, x, style)),
            }
        }
        let named: Vec<String> = runs
            .iter()
            .filter(|(_, _, s)| s.fg != Some(Color::Reset) || s.bg != Some(Color::Reset) || !s.add_modifier.is_empty())
            .map(|(from, to, style)| format!("{from}-{to} {}", named(style)))
            .collect();
        if !named.is_empty() {
            let _ = writeln!(out, "{y:>2}: {}", named.join(", "));
        }
    }
    out
}

fn named(style: &Style) -> String {
    let colour = |c: Option<Color>| match c {
        Some(Color::Indexed(n)) => n.to_string(),
        Some(Color::Reset) | None => String::new(),
        Some(other) => other.to_string(),
    };
    let mut words: Vec<String> = Vec::new();
    let (fg, bg) = (colour(style.fg), colour(style.bg));
    if !fg.is_empty() {
        words.push(fg);
    }
    if !bg.is_empty() {
        words.push(format!("on {bg}"));
    }
    if !style.add_modifier.is_empty() {
        words.push(format!("{:?}", style.add_modifier).to_lowercase());
    }
    words.join(" ")
}

/// Compares a picture, text and styles, with the one kept.
pub fn same_picture(name: &str, sitting: &Sitting) {
    let buffer = sitting.buffer();
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| {
        insta::assert_snapshot!(name, format!("{}\n{}", text_of(&buffer), styles_of(&buffer)));
    });
}

/// The profile of the fixture's car, for tests of the real binary: its layout is of the shipped rubrics.
pub fn fixture_profile() -> tinworm::car::Profile {
    let library = tinworm::rubric::builtin::library();
    let mut profile = fixture::profile("Blue estate");
    profile.layout = library
        .choices()
        .iter()
        .filter_map(|choice| library.pieces_of(choice).next().map(|p| p.id.clone()))
        .collect();
    profile
}
