//! Photos of what was seen: what is taken in and what is not, where it stands, and what of it leaves the car's folder.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;
use std::path::{Path, PathBuf};

use base64::Engine as _;
use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use tinworm::picture;
use tinworm::store::{Access, DataFolder};

use crate::command_line::bench::{Bench, said};

pub(crate) const PART: &str = "track-rod-end@front-left";

/// A picture of two colours, the left half one and the right half the other.
pub(crate) fn halves(width: u32, height: u32) -> DynamicImage {
    DynamicImage::ImageRgb8(RgbImage::from_fn(width, height, |x, _| {
        if x < width / 2 {
            Rgb([200, 30, 20])
        } else {
            Rgb([20, 40, 220])
        }
    }))
}

pub(crate) fn bytes(image: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut out = std::io::Cursor::new(Vec::new());
    image.write_to(&mut out, format).unwrap();
    out.into_inner()
}

/// A JPEG into which a camera wrote its place, and that it was held a quarter turn to the side.
pub(crate) fn with_place() -> Vec<u8> {
    let jpeg = bytes(&halves(64, 32), ImageFormat::Jpeg);
    let mut exif = b"Exif\0\0II*\0\x08\0\0\0\x02\0".to_vec();
    exif.extend(b"\x12\x01\x03\0\x01\0\0\0\x06\0\0\0");
    exif.extend(b"\x25\x88\x04\0\x01\0\0\0\x26\0\0\0");
    exif.extend(b"\0\0\0\0\0\0SECRETPLACE");
    let mut out = jpeg[..2].to_vec();
    out.extend([0xff, 0xe1]);
    out.extend(u16::try_from(exif.len() + 2).unwrap().to_be_bytes());
    out.extend(&exif);
    out.extend(&jpeg[2..]);
    out
}

fn written(bench: &Bench, name: &str, bytes: &[u8]) -> PathBuf {
    let path = bench.path(name);
    fs::write(&path, bytes).unwrap();
    path
}

/// A bench whose car has one grade.
pub(crate) fn graded() -> Bench {
    let bench = Bench::with_car();
    bench.text(&["found", "estate", PART, "boot=4"]);
    bench
}

fn photos_of(bench: &Bench) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(bench.data().join("estate/photos"))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

fn attach(bench: &Bench, file: &Path) -> String {
    bench.text(&["photo", "estate", PART, "boot", file.to_str().unwrap()])
}

#[test]
fn a_photo_is_copied_in_under_its_hash_listed_and_taken_off() {
    let bench = graded();
    let png = bytes(&halves(40, 20), ImageFormat::Png);
    let file = written(&bench, "holiday.jpeg", &png);
    let said = attach(&bench, &file);
    assert!(said.contains("40 by 20 points"), "{said}");
    let names = photos_of(&bench);
    // Told by content, not by the name's ending.
    assert_eq!(names, [picture::name(&png, picture::Kind::Png)]);
    assert_eq!(
        fs::read(bench.data().join("estate/photos").join(&names[0])).unwrap(),
        png
    );
    assert!(attach(&bench, &file).contains("already there"));
    let listed = bench.text(&["photo", "estate", "--list"]);
    assert!(listed.contains(&names[0]) && listed.contains("grade 4"), "{listed}");
    // A new grade keeps the photo; a photo that no look has goes.
    bench.text(&["found", "estate", PART, "boot=5", "--date", "2026-11-24"]);
    let gone = bench.text(&["photo", "estate", PART, "boot", "--remove", &names[0][..8]]);
    assert!(gone.contains("deleted"), "{gone}");
    assert!(photos_of(&bench).is_empty());
    assert_eq!(bench.text(&["photo", "estate", "--list"]), "There are no photos.\n");
}

#[test]
fn a_check_graded_again_on_the_day_keeps_its_photos_and_each_command_an_earlier_copy() {
    let bench = graded();
    attach(
        &bench,
        &written(&bench, "track.png", &bytes(&halves(20, 10), ImageFormat::Png)),
    );
    let names = photos_of(&bench);
    bench.text(&["found", "estate", PART, "boot=5"]);
    let listed = bench.text(&["photo", "estate", "--list"]);
    assert!(listed.contains(&names[0]) && listed.contains("grade 5"), "{listed}");
    let copies = bench.text(&["restore", "estate", "--list"]);
    assert!(copies.lines().count() >= 4, "{copies}");
}

#[test]
fn what_is_no_photo_is_refused_and_nothing_is_left() {
    let bench = graded();
    let png = bytes(&halves(40, 20), ImageFormat::Png);
    let mut wide = bytes(&halves(2, 2), ImageFormat::Png);
    // The head claims 60,000 by 60,000 points; its checksum is right.
    wide[16..20].copy_from_slice(&60_000_u32.to_be_bytes());
    wide[20..24].copy_from_slice(&60_000_u32.to_be_bytes());
    let sum = crc32fast::hash(&wide[12..29]);
    wide[29..33].copy_from_slice(&sum.to_be_bytes());
    let cases: [(&str, Vec<u8>, &str); 7] = [
        ("empty.jpg", Vec::new(), "neither a JPEG nor a PNG"),
        (
            "page.png",
            b"<svg xmlns='http://www.w3.org/2000/svg'/>".to_vec(),
            "neither a JPEG nor a PNG",
        ),
        (
            "moving.gif",
            b"GIF89a\x01\0\x01\0\0\0\0;".to_vec(),
            "neither a JPEG nor a PNG",
        ),
        ("cut.png", png[..png.len() / 2].to_vec(), "damaged"),
        ("head.jpg", b"\xff\xd8\xff\xe0".to_vec(), "damaged"),
        ("wide.png", wide, "60000 by 60000 points"),
        (
            "heavy.png",
            [png.as_slice(), &vec![0; 41 << 20]].concat(),
            "larger than 40 MB",
        ),
    ];
    for (name, bytes, word) in cases {
        let file = written(&bench, name, &bytes);
        // Even beside a good one: all or none.
        let good = written(&bench, "good.png", &png);
        let out = bench.run(&[
            "photo",
            "estate",
            PART,
            "boot",
            good.to_str().unwrap(),
            file.to_str().unwrap(),
        ]);
        assert_eq!(out.status.code(), Some(1), "{name}");
        assert!(
            said(&out).contains(word) && said(&out).contains(name),
            "{name}: {}",
            said(&out)
        );
        assert!(photos_of(&bench).is_empty(), "{name}");
    }
    let out = bench.run(&["photo", "estate", PART, "boot", "/dev/zero"]);
    assert!(said(&out).contains("not an ordinary file"), "{}", said(&out));
    let out = bench.run(&["photo", "estate", "track-rod-end@front-right", "boot", "good.png"]);
    assert_eq!(out.status.code(), Some(3), "no look to hang it on: {}", said(&out));
}

#[test]
fn every_cut_and_every_flipped_byte_of_a_photo_is_refused_or_read_never_worse() {
    for whole in [with_place(), bytes(&halves(16, 16), ImageFormat::Png)] {
        for cut in 0..whole.len() {
            let _ = picture::head(&whole[..cut]);
            let _ = picture::points(&whole[..cut], 16);
        }
        for at in 0..whole.len() {
            let mut turned = whole.clone();
            turned[at] ^= 0xff;
            if let Ok(points) = picture::points(&turned, 16) {
                assert!(points.width <= 16 && points.height <= 16);
            }
        }
    }
}

#[test]
fn the_place_is_told_kept_in_the_copy_and_not_in_the_report() {
    let bench = graded();
    let file = written(&bench, "a.jpg", &with_place());
    let out = bench.run(&["photo", "estate", PART, "boot", file.to_str().unwrap()]);
    assert!(
        out.status.success() && said(&out).contains("the place where it was taken"),
        "{}",
        said(&out)
    );
    let plain = written(&bench, "b.jpg", &bytes(&halves(1600, 800), ImageFormat::Jpeg));
    let out = bench.run(&["photo", "estate", PART, "boot", plain.to_str().unwrap()]);
    assert!(!said(&out).contains("place"), "{}", said(&out));

    let without = bench.text(&["report", "estate", "--html"]);
    assert!(!without.contains("data:image"), "nothing changes without --photos");
    let page = bench.text(&["report", "estate", "--html", "--photos"]);
    let inline: Vec<&str> = page.split("<img src=\"data:image/jpeg;base64,").skip(1).collect();
    assert_eq!(inline.len(), 2);
    let mut sizes = Vec::new();
    for image in inline {
        let (data, rest) = image.split_once('"').unwrap();
        assert!(
            rest.starts_with(" alt=\"Photo: Track rod end, front left, "),
            "{}",
            &rest[..80]
        );
        let jpeg = base64::engine::general_purpose::STANDARD.decode(data).unwrap();
        assert!(!jpeg.windows(11).any(|w| w == b"SECRETPLACE") && !jpeg.windows(4).any(|w| w == b"Exif"));
        let image = image::load_from_memory(&jpeg).unwrap();
        sizes.push((image.width(), image.height()));
    }
    // The first was held sideways; the second is made smaller.
    assert_eq!(sizes, [(32, 64), (1000, 500)]);
    let out = bench.run(&["report", "estate", "--photos"]);
    assert_eq!(out.status.code(), Some(2), "only a page can hold photos");
}

#[test]
fn names_that_are_none_and_files_that_changed_are_not_followed() {
    let bench = graded();
    let png = bytes(&halves(40, 20), ImageFormat::Png);
    let file = written(&bench, "a.png", &png);
    attach(&bench, &file);
    let folder = bench.data().join("estate/photos");
    let inside = folder.join(&photos_of(&bench)[0]);
    let open = || {
        DataFolder::find(Some(&bench.data()))
            .unwrap()
            .open("estate", Access::Read)
            .unwrap()
    };
    let name = picture::name(&png, picture::Kind::Png);
    assert_eq!(open().photo(&name).unwrap(), png);
    for bad in [
        "",
        "..",
        "../profile.ron",
        "/etc/passwd",
        "a\\b.png",
        "x.png",
        &name.to_uppercase(),
        &format!("../photos/{name}"),
    ] {
        let error = open().photo(bad).unwrap_err().to_string();
        assert!(error.contains("no name of a photo"), "{bad}: {error}");
    }
    // Another picture under the name.
    fs::write(&inside, bytes(&halves(8, 8), ImageFormat::Png)).unwrap();
    assert!(
        open()
            .photo(&name)
            .unwrap_err()
            .to_string()
            .contains("does not match its name")
    );
    fs::remove_file(&inside).unwrap();
    assert!(open().photo(&name).unwrap_err().to_string().contains("is missing"));
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(&file, &inside).unwrap();
        assert!(
            open()
                .photo(&name)
                .unwrap_err()
                .to_string()
                .contains("outside its folder")
        );
        // A whole folder elsewhere is not written into either.
        fs::remove_dir_all(&folder).unwrap();
        let elsewhere = bench.path("elsewhere");
        fs::create_dir(&elsewhere).unwrap();
        std::os::unix::fs::symlink(&elsewhere, &folder).unwrap();
        let other = written(&bench, "other.png", &bytes(&halves(8, 8), ImageFormat::Png));
        let out = bench.run(&["photo", "estate", PART, "boot", other.to_str().unwrap()]);
        assert!(said(&out).contains("outside its folder"), "{}", said(&out));
        assert_eq!(fs::read_dir(&elsewhere).unwrap().count(), 0);
    }
    // A survey's file that names something else as a photo is refused as a whole, with the name.
    let survey = fs::read_dir(bench.data().join("estate")).unwrap();
    drop(survey);
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    data.open("estate", Access::Write).unwrap().tidy().unwrap();
    let path = bench.data().join("estate/surveys/2026-11-25.ron");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replace(&name, "../../../etc/passwd")).unwrap();
    let out = bench.run(&["standing", "estate"]);
    assert_eq!(out.status.code(), Some(1));
    assert!(
        said(&out).contains("`../../../etc/passwd` is no name of a photo"),
        "{}",
        said(&out)
    );
}
