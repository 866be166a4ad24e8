//! `new`: a new car, from flags and, where somebody can be asked, a short guided choice.

use std::io::{BufRead, IsTerminal, Write};

use super::args::{New, built};
use super::desk::{Desk, meant};
use super::exit::Failure;
use super::profile::{apply, put_piece};
use crate::car::profile::usual_salt_factor;
use crate::car::{Budget, Profile, Sessions, Use};
use crate::report::words;
use crate::rubric::{Library, Side, UsualCar};
use crate::text;
use crate::units::DistanceUnit;

/// Kilometres a year when nothing is said (judgement).
const USUAL_KM: f64 = 8000.0;

/// Makes a new car.
pub fn new(desk: &Desk, flags: New) -> Result<String, Failure> {
    let library = desk.library()?;
    let folder = desk.folder()?;
    let mut profile = unknown(&library);
    profile.name = flags.name.clone().unwrap_or_default().trim().to_owned();
    if let Some(like) = &flags.like {
        profile.layout.clone_from(&usual_car(&library, like)?.layout);
    }
    apply(&flags.profile, &mut profile, &library)?;
    for choice in open_choices(&profile, &library) {
        // Where the rubrics know only one piece there is nothing to choose.
        let mut pieces = library.pieces_of(choice);
        if let (Some(only), None) = (pieces.next(), pieces.next()) {
            put_piece(&mut profile, &library, &only.id);
        }
    }
    if profile.yearly_km == 0.0 && flags.profile.yearly.is_none() {
        profile.yearly_km = USUAL_KM;
    }
    let asked = std::io::stdin().is_terminal();
    if asked {
        ask_what_is_missing(&mut profile, &flags, &library)?;
    } else {
        refuse_what_is_missing(&profile, &library)?;
    }
    if let Some(built) = profile.built.filter(|b| *b > desk.today) {
        return Err(Failure::Data(format!("--built: {built} is in the future")));
    }
    if profile.budget.limited && profile.budget.since.is_none() {
        profile.budget.since = Some(desk.today);
    }
    let assumed = assumed(&flags, &profile, asked);
    let open = folder.create(profile)?;
    let car = open.car();
    let name = open.name();
    let mut said = format!(
        "{} is made with {}; call it `{name}`.\n",
        text::clean(&car.profile.name),
        words::count(car.part_ids(&library).len(), "part")
    );
    if !assumed.is_empty() {
        said.push_str(&format!(
            "Not said, so taken as usual: {}. `tinworm set {name}` shows and changes it.\n",
            assumed.join(", ")
        ));
    }
    said.push_str(&format!(
        "Look round it next: `tinworm sheet {name}` to print, or `tinworm sheet {name} --csv > sheet.csv`, fill it in, and \
         `tinworm enter {name} sheet.csv`.\n"
    ));
    Ok(said)
}

/// A profile of which nothing is known.
fn unknown(library: &Library) -> Profile {
    let climates = &library.all().climates;
    let climate = climates.iter().find(|c| c.id == "C3").or_else(|| climates.first());
    let storages = &library.all().storages;
    // What is not known may not flatter the car: it stands outside.
    let storage = storages.iter().find(|s| s.id == "outside").or_else(|| storages.first());
    Profile {
        name: String::new(),
        built: None,
        layout: Vec::new(),
        drive_side: Side::Left,
        distance_unit: DistanceUnit::default(),
        yearly_km: 0.0,
        salted_months: vec![1, 2, 3, 11, 12],
        salt_factor: usual_salt_factor(),
        climate: climate.map(|c| c.id.clone()).unwrap_or_default(),
        storage: storage.map(|s| s.id.clone()).unwrap_or_default(),
        in_use: Use::InUse,
        next_survey: None,
        sessions: Sessions::default(),
        budget: Budget::default(),
        tools: Vec::new(),
        retired: None,
    }
}

/// What was neither said nor asked about.
fn assumed(flags: &New, profile: &Profile, asked: bool) -> Vec<String> {
    let given = &flags.profile;
    let mut assumed = Vec::new();
    let mut note = |missing: bool, what: String| {
        if missing {
            assumed.push(what);
        }
    };
    note(
        given.built.is_none() && profile.built.is_none(),
        "age unknown".to_owned(),
    );
    note(
        given.yearly.is_none() && !asked,
        words::distance(profile, profile.yearly_km) + " a year",
    );
    note(given.salted.is_none(), "salted roads from November to March".to_owned());
    note(
        given.climate.is_none() && !asked,
        format!("climate {}", profile.climate),
    );
    note(given.storage.is_none() && !asked, format!("kept {}", profile.storage));
    note(given.sessions.is_empty(), "Saturdays of 6 hours".to_owned());
    assumed
}

/// The choices of which the layout has no piece.
fn open_choices<'l>(profile: &Profile, library: &'l Library) -> Vec<&'l str> {
    let made: Vec<&str> = profile
        .layout
        .iter()
        .filter_map(|id| library.layout(id).map(|p| p.choice.as_str()))
        .collect();
    library.choices().into_iter().filter(|c| !made.contains(c)).collect()
}

fn refuse_what_is_missing(profile: &Profile, library: &Library) -> Result<(), Failure> {
    let mut missing = Vec::new();
    if profile.name.is_empty() {
        missing.push("  --name NAME".to_owned());
    }
    let open = open_choices(profile, library);
    if !open.is_empty() && !library.all().usual_cars.is_empty() {
        let usual: Vec<String> = library
            .all()
            .usual_cars
            .iter()
            .map(|u| format!("{} ({})", u.id, words::small(&text::clean(&u.name))))
            .collect();
        missing.push(format!("  --like USUAL, one of {}; or each of", usual.join(", ")));
    }
    for choice in open {
        let pieces: Vec<String> = library
            .pieces_of(choice)
            .map(|p| format!("{} ({})", p.id, words::small(&p.name)))
            .collect();
        missing.push(format!("  --layout {choice}=PIECE, one of {}", pieces.join(", ")));
    }
    if missing.is_empty() {
        Ok(())
    } else {
        Err(Failure::Usage(format!(
            "a new car needs more, and there is nobody to ask; give\n{}",
            missing.join("\n")
        )))
    }
}

fn ask_what_is_missing(profile: &mut Profile, flags: &New, library: &Library) -> Result<(), Failure> {
    while profile.name.is_empty() {
        profile.name = ask("What do you call it?", "")?;
    }
    while profile.built.is_none() {
        let said = ask("When was it built? A year, or nothing if nobody knows:", "")?;
        if said.is_empty() {
            break;
        }
        match built(&said) {
            Ok(date) => profile.built = Some(date),
            Err(how) => prompt(&format!("  {how}\n")),
        }
    }
    if flags.like.is_none() && !open_choices(profile, library).is_empty() {
        ask_what_it_is_like(profile, library)?;
    }
    for choice in open_choices(profile, library) {
        let pieces: Vec<(&str, &str)> = library
            .pieces_of(choice)
            .map(|p| (p.id.as_str(), p.name.as_str()))
            .collect();
        let id = choose(&words::large(&choice.replace('-', " ")), &pieces, 0)?.to_owned();
        put_piece(profile, library, &id);
    }
    if flags.profile.storage.is_none() {
        let storages: Vec<(&str, &str)> = library
            .all()
            .storages
            .iter()
            .map(|s| (s.id.as_str(), s.name.as_str()))
            .collect();
        let at = storages.iter().position(|(id, _)| *id == profile.storage).unwrap_or(0);
        if !storages.is_empty() {
            profile.storage = choose("How it is kept", &storages, at)?.to_owned();
        }
    }
    if flags.profile.climate.is_none() {
        let climates: Vec<(&str, &str)> = library
            .all()
            .climates
            .iter()
            .map(|c| (c.id.as_str(), c.name.as_str()))
            .collect();
        let at = climates.iter().position(|(id, _)| *id == profile.climate).unwrap_or(0);
        if !climates.is_empty() {
            profile.climate = choose("Where it lives", &climates, at)?.to_owned();
        }
    }
    while flags.profile.yearly.is_none() {
        let unit = profile.distance_unit;
        let usual = format!("{:.0}", unit.of_km(profile.yearly_km));
        let said = ask(&format!("How far does it go in a year, in {}?", unit.sign()), &usual)?;
        match crate::units::parse_decimal(&said) {
            Ok(distance) if distance >= 0.0 => {
                profile.yearly_km = unit.to_km(distance);
                break;
            }
            Ok(_) => prompt("  A distance is not below zero.\n"),
            Err(why) => prompt(&format!("  {why}\n")),
        }
    }
    Ok(())
}

/// A usual car by id.
fn usual_car<'l>(library: &'l Library, id: &str) -> Result<&'l UsualCar, Failure> {
    library.usual_car(id).ok_or_else(|| {
        let known: Vec<&str> = library.all().usual_cars.iter().map(|u| u.id.as_str()).collect();
        let hint = meant(id, known.iter().copied());
        Failure::Usage(format!(
            "--like: there is no usual car `{id}`{hint}; they are {}",
            known.join(", ")
        ))
    })
}

/// One question instead of one for each choice: what the car is like, and then what is different.
fn ask_what_it_is_like(profile: &mut Profile, library: &Library) -> Result<(), Failure> {
    const NONE: &str = "none";
    let mut usual: Vec<(&str, &str)> = library
        .all()
        .usual_cars
        .iter()
        .map(|u| (u.id.as_str(), u.name.as_str()))
        .collect();
    if usual.is_empty() {
        return Ok(());
    }
    usual.push((NONE, "None of these: ask me piece by piece"));
    let like = choose("Which is it most like", &usual, 0)?;
    let Some(like) = library.usual_car(like) else {
        return Ok(());
    };
    for id in &like.layout {
        // What a flag has said already stays.
        let choice = library.layout(id).map(|p| p.choice.as_str()).unwrap_or_default();
        if open_choices(profile, library).contains(&choice) {
            put_piece(profile, library, id);
        }
    }
    loop {
        let choices = library.choices();
        prompt("It is then made of:\n");
        for (n, choice) in choices.iter().enumerate() {
            let piece = library.pieces_of(choice).find(|p| profile.layout.contains(&p.id));
            prompt(&format!(
                "  {:>2}  {}: {}\n",
                n + 1,
                choice.replace('-', " "),
                piece.map_or_else(|| "–".to_owned(), |p| words::small(&text::clean(&p.name)))
            ));
        }
        let said = ask("Which is different? Its number, or nothing if all is right:", "")?;
        if said.is_empty() {
            return Ok(());
        }
        let by_number = said.parse::<usize>().ok().and_then(|n| choices.get(n.checked_sub(1)?));
        let Some(choice) = by_number.or_else(|| choices.iter().find(|c| **c == said)) else {
            prompt(&format!("  Write a number from 1 to {}.\n", choices.len()));
            continue;
        };
        let pieces: Vec<(&str, &str)> = library
            .pieces_of(choice)
            .map(|p| (p.id.as_str(), p.name.as_str()))
            .collect();
        let at = pieces
            .iter()
            .position(|(id, _)| profile.layout.iter().any(|held| held == id))
            .unwrap_or(0);
        let id = choose(&words::large(&choice.replace('-', " ")), &pieces, at)?.to_owned();
        put_piece(profile, library, &id);
    }
}

/// Asks until one of the numbered choices is named; an empty answer takes the one in brackets.
fn choose<'t>(question: &str, choices: &[(&'t str, &str)], usual: usize) -> Result<&'t str, Failure> {
    prompt(&format!("{question}:\n"));
    for (n, (id, name)) in choices.iter().enumerate() {
        prompt(&format!("  {}  {} ({id})\n", n + 1, text::clean(name)));
    }
    loop {
        let said = ask("Which?", &(usual + 1).to_string())?;
        let by_number = said.parse::<usize>().ok().and_then(|n| choices.get(n.checked_sub(1)?));
        let by_id = choices.iter().find(|(id, _)| *id == said);
        if let Some((id, _)) = by_number.or(by_id) {
            return Ok(id);
        }
        prompt(&format!("  Write a number from 1 to {}.\n", choices.len()));
    }
}

fn ask(question: &str, usual: &str) -> Result<String, Failure> {
    if usual.is_empty() {
        prompt(&format!("{question} "));
    } else {
        prompt(&format!("{question} [{usual}] "));
    }
    let mut line = String::new();
    match std::io::stdin().lock().read_line(&mut line) {
        Ok(0) => Err(Failure::Usage(
            "the questions were not answered; no car was made".to_owned(),
        )),
        Ok(_) if line.trim().is_empty() => Ok(usual.to_owned()),
        Ok(_) => Ok(line.trim().to_owned()),
        Err(error) => Err(Failure::Usage(format!("the answer cannot be read: {error}"))),
    }
}

/// Questions go to the error output, so that the output holds only the result.
fn prompt(text: &str) {
    let plain = super::desk::ascii_unread().then(|| text::ascii::line(text));
    let text = plain.as_deref().unwrap_or(text);
    let mut err = std::io::stderr();
    let _ = err.write_all(text.as_bytes()).and_then(|()| err.flush());
}
