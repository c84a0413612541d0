//! Public trouble reports as tests. Each case in `tests/field` tells where a report was published, what is stated
//! there, in this project's own words, and the wiring as events of the notebook. With the stated cause put in, the
//! network must show what was observed; without it, it must not. `tests/field/README.md` tells the format.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "the whole file is a check, which stops where something is wrong"
)]

mod field_support;

use std::collections::BTreeSet;
use std::path::Path;

use field_support::Case;

fn folder() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/field"))
}

fn check(name: &str) {
    let file = format!("{name}.txt");
    let text = std::fs::read_to_string(folder().join(&file)).unwrap_or_else(|why| panic!("{file}: {why}"));
    let wrong = Case::read(&file, &text).and_then(Case::play).map(|played| played.wrong());
    match wrong {
        Ok(wrong) if wrong.is_empty() => {}
        Ok(wrong) => panic!("\n{}\n", wrong.join("\n")),
        Err(why) => panic!("\n{why}\n"),
    }
}

macro_rules! field_cases {
    ($($name:ident,)*) => {
        const NAMES: &[&str] = &[$(stringify!($name),)*];
        $(#[test]
        fn $name() {
            check(stringify!($name));
        })*
    };
}

field_cases! {
    attic_cable_read_dead_is_live,
    bathroom_lights_in_series_with_a_television,
    bathroom_white_live_neutral_open_upstream,
    bedroom_grounds_joined_to_a_neutral_in_one_box,
    bedrooms_dead_behind_a_hidden_gfci,
    both_blacks_hot_at_a_heater_thermostat,
    ceiling_track_live_from_a_ballast,
    fan_light_in_the_hand_lit_by_the_kitchen,
    fan_neutral_on_the_feed_side_of_a_gfci,
    flood_light_glows_in_the_rain,
    hair_dryer_divides_with_a_bad_neutral,
    half_the_house_works_with_the_dryer,
    hall_light_switch_parked_between_positions,
    heaters_too_strong_for_their_thermostat,
    kitchen_receptacle_link_joins_two_legs,
    lamp_shell_live_after_a_tie_in,
    lamps_blink_behind_a_dimmer_without_neutral,
    landing_light_returns_by_another_circuit,
    lectern_receptacles_on_a_traveler,
    lights_stay_on_with_their_listed_breaker_off,
    outdoor_lights_fed_back_through_the_link,
    receptacles_dead_feed_on_the_load_side_of_a_gfci,
    receptacles_dead_while_another_is_out,
    relay_chatters_on_a_lamps_conductor,
    ring_grounds_joined_to_each_other_only,
    row_of_places_dead_behind_a_push_in_joint,
    second_wall_switch_does_nothing_for_the_new_fan,
    sixty_volts_behind_an_open_switch,
    stair_light_common_and_traveler_exchanged,
    stair_light_feed_on_a_traveler_screw,
    switch_plate_live_ground_cut_at_the_board,
    thermostat_dark_behind_a_loose_heater_joint,
    three_lights_dim_in_series,
    three_switch_places_two_devices_landed_wrongly,
    two_receptacles_fed_by_nothing,
}

#[test]
fn every_case_in_the_folder_is_run() {
    let files: BTreeSet<String> = std::fs::read_dir(folder())
        .unwrap()
        .filter_map(|file| file.unwrap().file_name().into_string().unwrap().strip_suffix(".txt").map(str::to_owned))
        .collect();
    let named: BTreeSet<String> = NAMES.iter().map(|name| (*name).to_owned()).collect();
    assert_eq!(files, named, "the list in field_cases.rs is not that of the folder");
}

/// A case that says nothing, or says it wrongly, is refused with the file and the line.
#[test]
fn a_case_that_checks_nothing_is_refused() {
    let head = "source: a forum, a thread\nstated: it is dark\n";
    let wiring = "== wiring\nbox tag=P kind=panel system=split_phase\n== variant with\n== variant without\n";
    let refused = |text: String, why: &str| {
        let said = Case::read("x.txt", &text).and_then(Case::play).map(|played| played.wrong());
        let said = said.unwrap_or_else(|why| vec![why]).join("\n");
        assert!(said.contains(why) && said.contains("x.txt"), "{said}");
    };
    let says = "== statements\nwith: joined P!neutral P!ground\nwithout: joined P!neutral P!ground\n";
    refused(format!("{head}{wiring}{says}"), "nothing that holds with the cause fails without it");
    refused(format!("{head}{wiring}"), "says nothing of the variant with");
    refused(format!("{wiring}{says}"), "no source");
    refused(format!("{head}{wiring}{says}with: shines P:5\n"), "line 10: with: shines P:5");
    refused(format!("{head}{wiring}{says}when: joined P!a P!b\n"), "line 10: when");
    refused(format!("{head}{}{says}", wiring.replace("panel system", "no-such-box system")), "line 4");
    refused(
        format!(
            "{head}{}{says}",
            wiring.replace("split_phase", "split_phase\nbox tag=A kind=none\nrun A/A to=P kind=nm-14-2")
        ),
        "the map ends",
    );
}
