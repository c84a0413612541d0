//! Where a box is, in quick words: a room in one touch, what it is there in another; places of this site again. Own
//! words are typed.

use std::collections::BTreeSet;

use super::parts::{choice, w};
use super::row::{Pick, Row};
use super::setup::typed;
use super::view::View;

/// Rooms of a dwelling and of a small shop.
const ROOMS: [&str; 12] = [
    "kitchen",
    "bath",
    "bedroom",
    "living",
    "hall",
    "stair_foot",
    "stair_top",
    "cellar",
    "attic",
    "garage",
    "workshop",
    "outside",
];
/// What a box is in a room.
const SPOTS: [&str; 8] = ["ceiling", "door", "wall", "counter", "receptacle", "light", "switch", "junction"];

fn get<'t>(view: &'t View<'_>, field: &str) -> &'t str {
    view.address.field(field).map(str::trim).unwrap_or_default()
}

/// The place as it will be noted: what was typed or picked whole, else the room with what it is there.
pub(super) fn chosen(view: &View<'_>) -> Option<String> {
    let whole = get(view, "location");
    if !whole.is_empty() {
        return Some(whole.to_owned());
    }
    let words = [get(view, "room"), get(view, "spot")];
    let words: Vec<&str> = words.into_iter().filter(|word| !word.is_empty()).collect();
    (!words.is_empty()).then(|| words.join(", "))
}

/// The choices, and the field for own words.
pub(super) fn rows(view: &View<'_>) -> Vec<Row> {
    let mut rooms: Vec<String> = ROOMS.iter().map(|room| w(&format!("room.{room}"))).collect();
    rooms.extend(of_site(view, &rooms));
    let pick = |field: &str, words: &str| {
        let is = get(view, field) == words;
        Pick::new(words, view.here(field, if is { "" } else { words })).on(is)
    };
    let spots = SPOTS.map(|spot| pick("spot", &w(&format!("spot.{spot}"))));
    vec![
        choice("room", &w("box.room"), rooms.iter().map(|room| pick("room", room)).collect()),
        choice("spot", &w("box.spot"), spots.into()),
        typed(view, "location", "box.own_place"),
    ]
}

/// Rooms that were typed at this site: what stands before the first comma of a place.
fn of_site(view: &View<'_>, known: &[String]) -> Vec<String> {
    let places = view.planned().boxes.values().filter_map(|note| note.location.get());
    let rooms: BTreeSet<String> =
        places.filter_map(|place| place.split(',').next()).map(|room| room.trim().to_owned()).collect();
    rooms.into_iter().filter(|room| !room.is_empty() && !known.contains(room)).take(6).collect()
}
