//! Random boxes: nothing overlaps, nothing is too small to touch, nothing leaves the frame, same input same bytes.

use proptest::prelude::*;

use super::unfolded::*;
use super::*;

fn sense(n: usize) -> Sense {
    Sense { spoken: format!("thing {n}"), token: format!("t {n}"), held: n.is_multiple_of(7) }
}

const COLOURS: [(&str, &str); 4] = [("black", "BK"), ("white", "WH"), ("red", "RD"), ("bare", "CU")];

/// Numbers from which a box is made: for each cable the seats of its ends, for each device its terminals.
#[derive(Debug, Clone)]
struct Recipe {
    metal: bool,
    octagon: bool,
    joints: usize,
    cables: Vec<Vec<(usize, bool)>>,
    devices: Vec<usize>,
    pigtails: Vec<(usize, usize)>,
    /// An end is being moved: terminals with nothing on them can be touched.
    moving: bool,
}

fn recipe() -> impl Strategy<Value = Recipe> {
    let cable = prop::collection::vec((0usize..40, any::<bool>()), 1..=12);
    (
        any::<(bool, bool, bool)>(),
        1usize..8,
        prop::collection::vec(cable, 0..=8),
        prop::collection::vec(1usize..7, 0..=4),
        prop::collection::vec((0usize..8, 0usize..24), 0..8),
    )
        .prop_map(|((metal, octagon, moving), joints, cables, devices, pigtails)| Recipe {
            metal,
            octagon,
            joints,
            cables: most_forty(cables),
            devices,
            pigtails,
            moving,
        })
}

/// No more than forty conductors.
fn most_forty(cables: Vec<Vec<(usize, bool)>>) -> Vec<Vec<(usize, bool)>> {
    let mut left = 40;
    cables
        .into_iter()
        .map(|mut ends| {
            ends.truncate(left);
            left -= ends.len();
            ends
        })
        .filter(|ends| !ends.is_empty())
        .collect()
}

fn seat(n: usize, joints: usize, terminals: &[(usize, usize)]) -> Seat {
    let n = n % (joints + terminals.len());
    match n.checked_sub(joints).and_then(|n| terminals.get(n)) {
        Some((device, terminal)) => Seat::Terminal(*device, *terminal),
        None => Seat::Joint(n),
    }
}

fn end(k: usize, (to, labelled): (usize, bool), seat: Seat, number: usize) -> End {
    End {
        colour: COLOURS[k % 4].0.to_owned(),
        word: COLOURS[k % 4].0.to_owned(),
        letters: COLOURS[k % 4].1.to_owned(),
        remarked: None,
        label: labelled.then(|| Label {
            text: "TO STAIR".to_owned(),
            planned: k.is_multiple_of(2),
            twice: k.is_multiple_of(5),
        }),
        seat,
        finish: [Finish::Joined, Finish::Capped, Finish::Bare, Finish::Unknown][to % 4],
        edge: (to % 3 == 0).then_some(Edge::Planned),
        changed: to % 5 == 0,
        hazard: to % 7 == 0,
        sense: sense(number),
    }
}

fn device(terminals: usize, moving: bool, next: &mut impl FnMut() -> usize) -> Device {
    let each = (0..terminals).map(|n| Terminal {
        name: format!("traveler {n}"),
        metal: Metal::Brass,
        hazard: n % 3 == 0,
        sense: if moving { sense(next()) } else { Sense::default() },
    });
    Device {
        name: "three-way switch".to_owned(),
        terminals: each.collect(),
        links: if terminals > 1 { vec![(0, 1, terminals.is_multiple_of(2))] } else { Vec::new() },
        sense: sense(next()),
        ..Device::default()
    }
}

fn unfold(recipe: &Recipe) -> Unfolded {
    let terminals: Vec<(usize, usize)> = recipe
        .devices
        .iter()
        .enumerate()
        .flat_map(|(device, count)| (0..*count).map(move |terminal| (device, terminal)))
        .collect();
    let mut number = 0;
    let mut next = || {
        number += 1;
        number
    };
    let mut joints: Vec<Joint> = (0..recipe.joints)
        .map(|n| Joint {
            name: format!("joint {n}"),
            text: "lever, 4 of 5 ports".to_owned(),
            holder: [Holder::WireConnector, Holder::PushIn, Holder::Other, Holder::Free, Holder::Through][n % 5],
            spare: n % 3,
            hazard: n % 4 == 1,
            sense: sense(next()),
            ..Joint::default()
        })
        .collect();
    for (joint, to) in &recipe.pigtails {
        let Some(to) = terminals.get(*to) else { continue };
        joints[joint % recipe.joints].pigtails.push(Pigtail {
            colour: "black".to_owned(),
            word: "black pigtail".to_owned(),
            to: Seat::Terminal(to.0, to.1),
            edge: None,
            changed: to.1 == 0,
            sense: sense(next()),
        });
    }
    let cables = recipe.cables.iter().enumerate().map(|(n, ends)| Cable {
        letter: char::from(b'A' + u8::try_from(n).unwrap()).to_string(),
        kind: "14-3".to_owned(),
        enters: "top left".to_owned(),
        from: "B6".to_owned(),
        sense: sense(next()),
        ends: ends
            .iter()
            .enumerate()
            .map(|(k, (to, labelled))| end(k, (*to, *labelled), seat(*to, recipe.joints, &terminals), next()))
            .collect(),
        ..Cable::default()
    });
    let cables = cables.collect();
    let devices = recipe.devices.iter().map(|count| device(*count, recipe.moving, &mut next)).collect();
    let hazard = recipe.joints.is_multiple_of(2);
    Unfolded {
        metal: recipe.metal,
        outline: if recipe.octagon { Outline::Octagon } else { Outline::Square },
        hazard,
        cables,
        joints,
        devices,
        spoken: "a box".to_owned(),
    }
}

/// Left, top, right, foot.
type Frame = (f64, f64, f64, f64);

fn overlap(a: Frame, b: Frame) -> bool {
    const HAIR: f64 = 0.15;
    a.0 + HAIR < b.2 && b.0 + HAIR < a.2 && a.1 + HAIR < b.3 && b.1 + HAIR < a.3
}

fn frame(touch: &Touch) -> Frame {
    (touch.x, touch.y, touch.x + touch.width, touch.y + touch.height)
}

/// Where words lie, by the same widths that the layout used.
fn words(picture: &Picture) -> Vec<(Frame, String)> {
    let each = picture.shapes.iter().filter_map(|shape| match &shape.form {
        Form::Words { x, y, text, size, anchor, bold } => {
            let width = super::text::width(text, *size, *bold);
            let left = match anchor {
                Anchor::Start => *x,
                Anchor::Middle => x - width / 2.0,
                Anchor::End => x - width,
            };
            Some(((left, y - size * 0.72, left + width, y + 1.0), text.clone()))
        }
        _ => None,
    });
    each.collect()
}

fn check(inside: &Unfolded) -> Result<(), TestCaseError> {
    let picture = box_picture(inside, PHONE_WIDTH);
    prop_assert_eq!(&picture, &box_picture(inside, PHONE_WIDTH));
    prop_assert!(picture.width >= PHONE_WIDTH && picture.height.is_finite());
    for (n, place) in picture.places.iter().enumerate() {
        prop_assert!(place.width >= 56.0 && place.height >= 56.0, "{:?} is too small", place);
        let (left, top, right, foot) = frame(place);
        let within = left >= 0.0 && top >= 0.0 && right <= picture.width + 0.1 && foot <= picture.height + 0.1;
        prop_assert!(within, "{:?} is outside {} × {}", place, picture.width, picture.height);
        for other in &picture.places[n + 1..] {
            prop_assert!(!overlap(frame(place), frame(other)), "{:?} and {:?}", place, other);
        }
    }
    // Everything can be touched once: cables, their ends, pigtails at terminals, devices.
    let ends: usize = inside.cables.iter().map(|cable| cable.ends.len() + 1).sum();
    let tails: usize = inside.joints.iter().map(|joint| joint.pigtails.len()).sum();
    let rows =
        inside.joints.iter().enumerate().filter(|(n, _)| {
            !inside.cables.iter().flat_map(|cable| &cable.ends).any(|end| end.seat == Seat::Joint(*n))
        });
    let empty = inside.devices.iter().enumerate().flat_map(|(device, of)| {
        of.terminals.iter().enumerate().filter(move |(n, terminal)| {
            let here = Seat::Terminal(device, *n);
            let used = inside.cables.iter().flat_map(|cable| &cable.ends).any(|end| end.seat == here)
                || inside.joints.iter().flat_map(|joint| &joint.pigtails).any(|tail| tail.to == here);
            !used && !terminal.sense.token.is_empty()
        })
    });
    let all = ends + tails + inside.devices.len() + rows.count() + empty.count();
    prop_assert_eq!(picture.places.len(), all);
    let words = words(&picture);
    for (n, (one, text)) in words.iter().enumerate() {
        // Letters of a colour always fit: nothing is cut down to nothing.
        prop_assert!(text != "…", "words were cut to nothing");
        prop_assert!(one.0 >= 0.0 && one.2 <= picture.width, "{} leaves the picture", text);
        for (other, more) in &words[n + 1..] {
            prop_assert!(!overlap(*one, *other), "{} {:?} over {} {:?}", text, one, more, other);
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn random_boxes_can_be_read_and_touched(recipe in recipe()) {
        check(&unfold(&recipe))?;
    }
}

#[test]
fn a_box_with_nothing_in_it_is_a_frame() {
    let picture = box_picture(&Unfolded::default(), PHONE_WIDTH);
    assert!(picture.places.is_empty());
    assert!(picture.height > 22.0);
}

/// A recipe without pigtails; `seats` are those of each cable's ends, joints first, then terminals in order.
fn crowded(joints: usize, seats: &[Vec<usize>], devices: &[usize]) -> Recipe {
    let cables = seats.iter().map(|ends| ends.iter().map(|seat| (*seat, seat % 2 == 0)).collect()).collect();
    let devices = devices.to_vec();
    Recipe { metal: true, octagon: false, joints, cables, devices, pigtails: Vec::new(), moving: false }
}

#[test]
fn eighteen_lines_pass_the_first_of_four_devices() {
    let seats: Vec<Vec<usize>> = (0..4).map(|cable| (0..6).map(|end| 1 + end * 4 + cable).collect()).collect();
    let inside = unfold(&crowded(1, &seats, &[6, 6, 6, 6]));
    let later = inside.cables.iter().flat_map(|cable| &cable.ends);
    let later = later.filter(|end| matches!(end.seat, Seat::Terminal(device, _) if device > 0)).count();
    assert_eq!(later, 18);
    check(&inside).unwrap();
}

#[test]
fn two_raceways_of_twelve_beside_six_cables_can_be_read_and_touched() {
    let mut seats: Vec<Vec<usize>> = (0..2).map(|_| (0..12).collect()).collect();
    seats.extend((0..6).map(|cable| (0..2).map(|end| cable + end * 3).collect()));
    let inside = unfold(&crowded(5, &seats, &[4, 3]));
    assert_eq!(inside.cables.iter().map(|cable| cable.ends.len()).sum::<usize>(), 36);
    check(&inside).unwrap();
}
