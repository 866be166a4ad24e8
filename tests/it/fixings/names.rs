//! Names of threads and classes as people write them; hexagons and keys.

use tinworm::rubric::builtin;
use tinworm::rubric::fasteners::{HexKind, diameters_with_hex, hexes_of, socket_key};

#[test]
fn every_usual_spelling_of_a_thread_is_read() {
    let library = builtin::library();
    for (written, id, rest) in [
        ("M12x1.5", "M12x1.5", ""),
        ("m12 x 1.5", "M12x1.5", ""),
        ("M12×1,5", "M12x1.5", ""),
        ("M 12 * 1.50 10.9", "M12x1.5", "10.9"),
        ("12x1.25", "M12x1.25", ""),
        ("M12-1.5 8.8", "M12x1.5", "8.8"),
        ("M12 1.5 10.9", "M12x1.5", "10.9"),
        ("M12", "M12x1.75", ""),
        ("m10 8.8", "M10x1.5", "8.8"),
        ("M8", "M8x1.25", ""),
        ("M20", "M20x2.5", ""),
        ("M5", "M5x0.8", ""),
    ] {
        let (thread, behind) = library
            .thread_written(written)
            .unwrap_or_else(|why| panic!("{written}: {why}"));
        assert_eq!((thread.id.as_str(), behind.as_str()), (id, rest), "{written}");
    }
    for (written, class) in [("8.8", "8.8"), ("10,9", "10.9"), ("class 12.9", "12.9")] {
        assert_eq!(library.class_written(written).unwrap().id, class);
    }
}

#[test]
fn unknown_names_get_one_error_with_near_ones() {
    let library = builtin::library();
    for (written, said) in [
        ("M13", ["`M13`", "M12x1.75"]),
        ("M12x1.6", ["`M12x1.6`", "M12x1.5"]),
        ("M9x1.25", ["`M9x1.25`", "M8x1.25"]),
        ("half inch", ["`half inch`", "M12x1.5"]),
        ("M12x", ["`M12x`", "M12x1.5"]),
        ("M12x1.5mm", ["`M12x1.5mm`", "M12x1.5"]),
    ] {
        let why = library.thread_written(written).unwrap_err().to_string();
        assert!(said.iter().all(|s| why.contains(s)), "{written}: {why}");
    }
    let why = library.class_written("11.9").unwrap_err().to_string();
    assert!(
        why.contains("8.8, 10.9, 12.9") && why.contains("did you mean `10.9`"),
        "{why}"
    );
    assert_eq!(library.weakest_class().unwrap().id, "8.8");
}

#[test]
fn hexagons_and_keys_are_those_of_the_charts() {
    for (diameter, across, kind, source) in [
        (8.0, 13.0, HexKind::Iso, "head size chart of ISO 4014 and 4017"),
        (10.0, 16.0, HexKind::Iso, "head size chart of ISO 4014 and 4017"),
        (12.0, 18.0, HexKind::Iso, "head size chart of ISO 4014 and 4017"),
        (14.0, 21.0, HexKind::Iso, "head size chart of ISO 4014 and 4017"),
        (10.0, 17.0, HexKind::Din, "note on DIN 931 in a table of ISO 4014"),
        (12.0, 19.0, HexKind::Din, "note on DIN 931 in a table of ISO 4014"),
        (14.0, 22.0, HexKind::Din, "note on DIN 931 in a table of ISO 4014"),
        (8.0, 12.0, HexKind::Small, "torque page of a workshop manual"),
        (10.0, 14.0, HexKind::Small, "torque page of a workshop manual"),
        (12.0, 17.0, HexKind::Small, "torque page of a workshop manual"),
        (
            10.0,
            15.0,
            HexKind::Flange,
            "EN 1665, table 1, nominal of its least size",
        ),
        (14.0, 21.0, HexKind::Flange, "EN 1665, table 1"),
    ] {
        assert!(
            hexes_of(diameter).contains(&(across, kind)),
            "M{diameter}: {across} ({source})"
        );
        assert!(
            diameters_with_hex(across).contains(&(diameter, kind)),
            "{across}: M{diameter} ({source})"
        );
    }
    assert_eq!(socket_key(8.0), Some(6.0), "chart of ISO 4762");
    assert_eq!(socket_key(12.0), Some(10.0), "chart of ISO 4762");
    assert!(diameters_with_hex(23.0).is_empty() && hexes_of(11.0).is_empty());
}

#[test]
fn the_fixings_of_the_shipped_repairs_have_hexagons_usual_on_their_threads() {
    let library = builtin::library();
    let mut odd = Vec::new();
    for fixing in library.all().repairs.iter().flat_map(|r| &r.fixings) {
        // Pipe unions and bleed screws have hexagons of their own.
        if ["union", "bleed", "banjo", "plug", "pipe"]
            .iter()
            .any(|w| fixing.name.contains(w))
        {
            continue;
        }
        if let (Some(thread), Some(hex)) = (fixing.thread.as_deref().and_then(|id| library.thread(id)), fixing.hex)
            && !hexes_of(thread.diameter).iter().any(|(across, _)| *across == hex)
        {
            odd.push(format!("{}: {} with {hex} mm", fixing.name, thread.id));
        }
    }
    assert!(odd.is_empty(), "{}", odd.join("\n"));
}
