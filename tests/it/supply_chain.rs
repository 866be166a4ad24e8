//! What the program is built of: only crates of the public registry, fixed by checksum, under licences that allow it; no
//! unsafe code of our own; and `.ci/run` refuses a toolchain older than the one that is named.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;
use std::process::Command;

/// Licences under which a dependency may come; the same list stands in `.ci/deny.toml`.
const ALLOWED: [&str; 14] = [
    "MIT",
    "MIT-0",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "ISC",
    "MPL-2.0",
    "Unicode-3.0",
    "Unicode-DFS-2016",
    "Unlicense",
    "WTFPL",
    "Zlib",
    "CC0-1.0",
];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Whether a licence expression can be met with allowed licences alone: some branch of its `OR`s all of whose `AND`s are.
fn allowed(expression: &str) -> bool {
    let plain = expression.replace('/', " OR ").replace(['(', ')'], " ");
    if expression.contains('(') && expression.contains("AND") {
        // A bracket with both: every licence named must be allowed, which is more than is asked for.
        return plain
            .split_whitespace()
            .filter(|w| !matches!(*w, "OR" | "AND" | "WITH" | "LLVM-exception"))
            .all(|w| ALLOWED.contains(&w));
    }
    plain.split(" OR ").any(|branch| {
        branch.split(" AND ").all(|licence| {
            let name = licence.split(" WITH ").next().unwrap_or_default().trim();
            ALLOWED.contains(&name)
        })
    })
}

/// What cargo knows of the program and all it is built of, for this system; nothing is fetched. `None` where not all of it is here.
fn metadata() -> Option<serde_json::Value> {
    let compiler = Command::new("rustc").arg("-vV").output().unwrap();
    let compiler = String::from_utf8(compiler.stdout).unwrap();
    let host = compiler.lines().find_map(|l| l.strip_prefix("host: ")).unwrap();
    let output = Command::new(env!("CARGO"))
        .args([
            "metadata",
            "--offline",
            "--locked",
            "--format-version",
            "1",
            "--filter-platform",
            host,
        ])
        .current_dir(root())
        .output()
        .unwrap();
    if !output.status.success() {
        println!("skipped: {}", String::from_utf8_lossy(&output.stderr));
        return None;
    }
    Some(serde_json::from_slice(&output.stdout).unwrap())
}

/// The numbers of a version, `1.95` or `1.95.0`.
fn version(text: &str) -> Vec<u32> {
    let mut numbers: Vec<u32> = text.split('.').map(|n| n.parse().unwrap()).collect();
    numbers.resize(3, 0);
    numbers
}

/// The `rust-version` of the manifest.
fn oldest() -> String {
    let manifest = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    let named = manifest.lines().find_map(|l| l.strip_prefix("rust-version = \""));
    named.and_then(|l| l.strip_suffix('"')).unwrap().to_owned()
}

#[test]
fn every_dependency_is_of_the_registry_fixed_by_checksum_and_licensed_as_allowed() {
    let Some(metadata) = metadata() else { return };
    let mut counted: BTreeMap<String, usize> = BTreeMap::new();
    for package in metadata["packages"].as_array().unwrap() {
        let name = package["name"].as_str().unwrap();
        let licence = package["license"].as_str().unwrap_or_default();
        assert!(allowed(licence), "{name} is licensed {licence:?}");
        if name != "tinworm" {
            let source = package["source"].as_str().unwrap_or_default();
            assert_eq!(
                source, "registry+https://github.com/rust-lang/crates.io-index",
                "{name}"
            );
            *counted.entry(licence.replace('/', " OR ")).or_default() += 1;
        }
    }
    println!(
        "{} crates, those of the tests included: {counted:#?}",
        counted.values().sum::<usize>()
    );
    let lock = fs::read_to_string(root().join("Cargo.lock")).unwrap();
    for package in lock
        .split("[[package]]")
        .skip(1)
        .filter(|p| !p.contains("name = \"tinworm\""))
    {
        assert!(package.contains("checksum = \""), "{package}");
    }
    // The other tool that may read the list reads the same one.
    let deny = fs::read_to_string(root().join(".ci/deny.toml")).unwrap();
    let listed: BTreeSet<&str> = deny
        .split("allow = [")
        .nth(1)
        .unwrap()
        .split(']')
        .next()
        .unwrap()
        .split('"')
        .skip(1)
        .step_by(2)
        .collect();
    assert_eq!(listed, ALLOWED.into_iter().collect());
}

#[test]
fn licence_expressions_are_understood() {
    for good in [
        "MIT",
        "MIT OR GPL-3.0",
        "MIT/Apache-2.0",
        "Apache-2.0 WITH LLVM-exception OR MIT",
        "(MIT OR Apache-2.0) AND Unicode-3.0",
    ] {
        assert!(allowed(good), "{good}");
    }
    for bad in [
        "",
        "GPL-3.0",
        "MIT AND GPL-3.0",
        "LGPL-2.1 OR AGPL-3.0",
        "(MIT OR GPL-3.0) AND Unicode-3.0",
    ] {
        assert!(!allowed(bad), "{bad}");
    }
}

#[test]
fn no_code_of_our_own_is_unsafe_and_the_compiler_holds_that() {
    for file in ["src/lib.rs", "src/main.rs"] {
        let text = fs::read_to_string(root().join(file)).unwrap();
        assert!(text.lines().any(|l| l == "#![forbid(unsafe_code)]"), "{file}");
    }
    let manifest = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    assert!(manifest.contains("unsafe_code = \"forbid\""));
}

#[test]
fn no_dependency_of_the_program_asks_for_a_newer_toolchain_than_is_named() {
    let Some(metadata) = metadata() else { return };
    let resolved = &metadata["resolve"];
    let named = version(&oldest());
    // What only the tests need may ask for more.
    let mut seen = BTreeSet::new();
    let mut next = vec![resolved["root"].as_str().unwrap()];
    while let Some(id) = next.pop() {
        if !seen.insert(id) {
            continue;
        }
        let nodes = resolved["nodes"].as_array().unwrap();
        let node = nodes.iter().find(|n| n["id"] == id).unwrap();
        for dependency in node["deps"].as_array().unwrap() {
            let kinds = dependency["dep_kinds"].as_array().unwrap();
            if kinds.iter().any(|k| k["kind"] != "dev") {
                next.push(dependency["pkg"].as_str().unwrap());
            }
        }
    }
    let mut most = (vec![0, 0, 0], String::new());
    let packages = metadata["packages"].as_array().unwrap();
    for package in packages.iter().filter(|p| seen.contains(p["id"].as_str().unwrap())) {
        let name = package["name"].as_str().unwrap();
        let Some(asked) = package["rust_version"].as_str().filter(|_| name != "tinworm") else {
            continue;
        };
        assert!(version(asked) <= named, "{name} asks for {asked}");
        most = most.max((version(asked), name.to_owned()));
    }
    println!(
        "{} crates in the program; {} asks for the newest toolchain: {:?}",
        seen.len() - 1,
        most.1,
        most.0
    );
}

#[test]
fn the_oldest_toolchain_that_is_named_is_held_by_ci() {
    let named = oldest();
    assert!(named.split('.').all(|n| n.parse::<u32>().is_ok()), "{named}");
    let ci = fs::read_to_string(root().join(".ci/run")).unwrap();
    for step in ["rust-version", "older than the rust-version", "cargo check --locked"] {
        assert!(ci.contains(step), "{step}");
    }
}
