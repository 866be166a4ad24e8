//! ISO 724: diameters. ISO 898-1: stress area.

use super::*;

#[test]
fn diameters_are_those_of_iso_724() {
    for (size, pitch, core, source) in [
        ("M10x1.5", 9.026, 8.160, "thread page M10-6g, DIN 13"),
        ("M8x1.25", 7.188, 6.466, "thread data page M8"),
        ("M5x0.8", 4.480, 4.019, "computed apart"),
        ("M12x1.25", 11.188, 10.466, "computed apart"),
        ("M12x1.5", 11.026, 10.160, "computed apart"),
        ("M18x2.5", 16.376, 14.933, "computed apart"),
    ] {
        let (d2, d3) = (pitch_diameter(&m(size)).unwrap(), core_diameter(&m(size)).unwrap());
        assert!(
            (d2 - pitch).abs() < 0.001 && (d3 - core).abs() < 0.001,
            "{size}: {d2}, {d3} ({source})"
        );
    }
}

#[test]
fn stress_areas_are_those_of_iso_898_1() {
    assert!(
        (stress_area(&m("M8x1.25")).unwrap() - 36.61).abs() < 0.005,
        "thread data page M8"
    );
    let supplier = "supplier's proof loads to EN ISO 898-1";
    let memory = "ISO 898-1, from memory";
    hold(
        &[
            ("M5x0.8", "8.8", 14.2, supplier),
            ("M6x1", "8.8", 20.1, supplier),
            ("M8x1.25", "8.8", 36.6, supplier),
            ("M10x1.5", "8.8", 58.0, supplier),
            ("M12x1.75", "8.8", 84.3, supplier),
            ("M14x2", "8.8", 115.0, supplier),
            ("M16x2", "8.8", 157.0, supplier),
            ("M18x2.5", "8.8", 192.0, supplier),
            ("M8x1", "8.8", 39.2, memory),
            ("M10x1.25", "8.8", 61.2, memory),
            ("M10x1", "8.8", 64.5, memory),
            ("M12x1.5", "8.8", 88.1, memory),
            ("M12x1.25", "8.8", 92.1, memory),
            ("M14x1.5", "8.8", 125.0, memory),
            ("M16x1.5", "8.8", 167.0, memory),
            ("M18x1.5", "8.8", 216.0, memory),
        ],
        0.005,
        |thread, _| stress_area(thread).unwrap(),
    );
}
