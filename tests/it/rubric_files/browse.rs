//! Finding one's way in a library.

use super::{SMALL, source};
use tinworm::rubric::{Kind, Library, System};

fn small() -> Library {
    tinworm::rubric::load(&[source("small.ron", SMALL)]).expect("the small set")
}

#[test]
fn an_id_is_found_whatever_it_names() {
    let library = small();
    assert_eq!(library.named("tyre"), [Kind::Component]);
    assert_eq!(library.named("set-toe"), [Kind::FollowUp]);
    assert_eq!(library.named("C3"), [Kind::Climate]);
    assert!(library.named("nothing").is_empty());
    assert_eq!(library.nearest_id("tyer"), Some("tyre"));
    assert_eq!(library.nearest_id("carburettor"), None);
    // One of each kind at least, so that no kind is left out of the listing.
    assert!(Kind::ALL.iter().all(|kind| !library.ids(*kind).is_empty()));
}

#[test]
fn what_hangs_together_with_a_component_is_found() {
    let library = small();
    let wheels: Vec<&str> = library.components_of(System::Wheels).map(|c| c.id.as_str()).collect();
    assert_eq!(wheels, ["tyre"]);
    let placed = library.placed_by("tyre");
    assert_eq!(
        (placed.len(), placed[0].0.id.as_str(), placed[0].1.len()),
        (1, "wheels", 4)
    );
    let quickening = library.quickened_by("tyre", "tread");
    assert_eq!((quickening.len(), quickening[0].0.id.as_str()), (1, "ball-joint"));
    assert_eq!(library.quickened_by("ball-joint", "play").len(), 1);
    assert!(library.quickened_by("ball-joint", "boot").is_empty());
    assert_eq!(library.opened_by_step("wheel-off").count(), 1);
}

#[test]
fn a_repair_carries_the_cautions_of_all_it_opens() {
    let library = small();
    let boot = library.repair("renew-boot").expect("a repair");
    assert!(boot.cautions.is_empty());
    let cautions: Vec<&str> = library.cautions_of_repair(boot).iter().map(|c| c.id.as_str()).collect();
    assert_eq!(
        cautions,
        ["stands"],
        "through the wheel, which needs the front on stands"
    );
    let joint = library.repair("renew-ball-joint").expect("a repair");
    assert_eq!(library.cautions_of_repair(joint).len(), 1, "each once");
    assert_eq!(library.caution_texts(&joint.cautions).len(), 1);
}
