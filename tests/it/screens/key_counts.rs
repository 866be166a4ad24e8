//! What the common paths cost in keys. The numbers stand in DEVELOPERS.md, which this test reads.

use super::*;

/// A sitting whose keys are counted.
struct Counted {
    sitting: Sitting,
    keys: usize,
}

impl Counted {
    fn new() -> Counted {
        let sitting = Sitting::demo((80, 24), dark());
        Counted { sitting, keys: 0 }
    }

    fn key(&mut self, key: Key) {
        self.keys += 1;
        self.sitting.key(key);
    }

    fn keys(&mut self, keys: &str) {
        keys.chars().for_each(|c| self.key(Key::Char(c)));
    }

    fn since(&mut self) -> usize {
        std::mem::take(&mut self.keys)
    }
}

#[test]
fn the_published_key_counts_hold() {
    let mut job = Counted::new();
    // The car opens on its Standing, the first line selected.
    let worst = job
        .sitting
        .app
        .desk
        .says()
        .expect("the engine has spoken")
        .assessment
        .parts
        .iter();
    let worst = worst
        .filter(|p| p.rank.is_some_and(|r| r.place == 1))
        .map(|p| p.id.clone())
        .next();
    let name = tinworm::report::words::part(&job.sitting.app.desk.library, &worst.expect("a worst part"));
    assert!(job.sitting.text().contains(&name), "{name} in {}", job.sitting.text());
    let find_worst = job.since();
    job.keys("i");
    assert!(
        job.sitting.text().contains("causes") || job.sitting.text().contains("Why"),
        "{}",
        job.sitting.text()
    );
    let see_why = job.since();
    job.sitting.key(Key::Esc);
    job.keys("p");
    job.key(Key::Enter);
    let text = job.sitting.text();
    assert!(text.contains("Visit 1 of") || text.contains("visit 1 of"), "{text}");
    let worksheet = job.since();
    let before = job.sitting.car().repairs.len();
    job.keys("f");
    assert!(job.sitting.text().contains("Repair done"), "{}", job.sitting.text());
    job.key(Key::Ctrl('s'));
    job.keys("y");
    assert!(job.sitting.car().repairs.len() > before, "{}", job.sitting.text());
    let tick_off = job.since();

    let published = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/DEVELOPERS.md")).unwrap();
    for (what, keys) in [
        ("find the worst part", find_worst),
        ("see why it comes first", see_why),
        ("open the first worksheet", worksheet),
        ("tick its first repair off", tick_off),
    ] {
        let line = published.lines().find(|l| l.starts_with(&format!("| {what}")));
        let said = line.and_then(|l| l.split('|').nth(2)).map(str::trim);
        assert_eq!(said, Some(keys.to_string().as_str()), "{what}");
    }
}
