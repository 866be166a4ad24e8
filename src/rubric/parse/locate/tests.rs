#![allow(clippy::unwrap_used, clippy::panic)]
use super::*;
use proptest::prelude::*;

/// Checks that the line and column of a path lead to a line's rest that begins so.
fn points_at(text: &str, path: &str, line: usize, begins: &str) {
    let places = Places::of(text);
    let place = places.get(path).unwrap_or_else(|| {
        panic!(
            "no {path}; there are {:?}",
            places.all().iter().map(|p| &p.path).collect::<Vec<_>>()
        )
    });
    let (found, column) = places.line_and_column(text, place.span.start);
    let rest: String = text
        .split('\n')
        .nth(found - 1)
        .unwrap()
        .chars()
        .skip(column - 1)
        .collect();
    assert_eq!(found, line, "{path}");
    assert!(rest.starts_with(begins), "{path} points at {rest}");
}

#[test]
fn ordinary_items_are_found() {
    let text = "(\n    schema: 1,\n    components: [\n        (id: \"a\", checks: [(id: \"b\", kind: Graded([\"x\", \"y\"]))]),\n    ],\n)\n";
    let places = Places::of(text);
    assert!(places.whole());
    assert_eq!(places.line_and_column(text, 0), (1, 1));
    assert_eq!(places.line_and_column(text, text.find("1,").unwrap()), (2, 13));
    points_at(text, "", 1, "(");
    points_at(text, "schema", 2, "1,");
    points_at(text, "components[0]", 4, "(id: \"a\"");
    points_at(text, "components[0].checks[0].kind", 4, "Graded(");
    points_at(text, "components[0].checks[0].kind[1]", 4, "\"y\"");
}

#[test]
fn odd_formatting_does_not_lead_it_astray() {
    let text = concat!(
        "#![enable(implicit_some)] #![type = \"a]b\"]\n",
        "RubricFile( // ( [ {\n",
        "/* one /* two \" */ ) */ a:r##\"raw \"# , ) \"##,b :\n",
        "\t[ '\\'' , ')',\"\\\"]\\\\\" , ( 1.0 , -2e-3, ) ,],\n",
        "c: Some(Measured((new: 1_0.5, limit : 2,))) , r#d: b\"x,\", é: (x: {\"k\": 1}),)",
    );
    let places = Places::of(text);
    assert!(places.whole(), "{places:#?}");
    points_at(text, "", 2, "RubricFile(");
    points_at(text, "a", 3, "r##\"raw");
    points_at(text, "b", 4, "[ '");
    points_at(text, "b[1]", 4, "')'");
    points_at(text, "b[2]", 4, "\"\\\"]");
    points_at(text, "b[3][1]", 4, "-2e-3");
    points_at(text, "c", 5, "Some(");
    points_at(text, "c.new", 5, "1_0.5");
    points_at(text, "c.limit", 5, "2,");
    points_at(text, "d", 5, "b\"x,\"");
    points_at(text, "é.x.k", 5, "1}");
    assert!(places.get("b[4]").is_none());
}

#[test]
fn the_end_and_the_comma_of_an_item_are_known() {
    let text = "(l: [Renew, Named(a: 1) /* , */ , ( ) ])";
    let places = Places::of(text);
    let named = places.get("l[1]").unwrap();
    assert_eq!(&text[named.span.clone()], "Named(a: 1)");
    assert_eq!(named.comma, Some(text.find(" , ( )").unwrap() + 1));
    assert!(named.listed);
    let last = places.get("l[2]").unwrap();
    assert_eq!((&text[last.span.clone()], last.comma), ("( )", None));
}

#[test]
fn what_is_not_written_is_sought_in_what_holds_it() {
    let text = "(a: [(b: 1)])";
    let places = Places::of(text);
    assert_eq!(places.nearest("a[0].c.d").map(|p| p.path.as_str()), Some("a[0]"));
    assert_eq!(places.nearest("z[9]").map(|p| p.path.as_str()), Some(""));
    assert!(Places::of("").nearest("a").is_none());
}

#[test]
fn a_broken_text_is_said_to_be_so() {
    for text in [
        "(",
        "(]",
        ")",
        "(a: \"x)",
        "(a: /* )",
        "(a: ?)",
        "(a 1)",
        "(a: , b: 1)",
        "(a: 'xy)",
    ] {
        assert!(!Places::of(text).whole(), "{text}");
    }
    let deep = "(a:[".repeat(50_000);
    assert!(!Places::of(&deep).whole());
}

proptest! {
    #[test]
    fn any_text_is_walked_without_a_stumble(text in "[\\[\\](){}:,'\"/*#!rb a1.é\n\\\\-]{0,120}") {
        let places = Places::of(&text);
        for place in places.all() {
            prop_assert!(text.get(place.span.clone()).is_some());
            let (line, column) = places.line_and_column(&text, place.span.start);
            prop_assert!(line >= 1 && column >= 1);
        }
    }
}
