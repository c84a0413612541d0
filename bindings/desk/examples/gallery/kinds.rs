//! Example rows of every kind with every edge, from the invented Lantern Lane job.

use boxproof_core::screen::{Anchor, Ask, Body, Edge, Form, HandleAt, Pick, Row, Screen, Shape, Strand, Touch};

const EDGES: [(Edge, &str); 7] = [
    (Edge::Unknown, "not known"),
    (Edge::Planned, "planned"),
    (Edge::Found, "as found"),
    (Edge::Unchecked, "as planned, not checked"),
    (Edge::Left, "as left"),
    (Edge::Stale, "stale"),
    (Edge::Disagrees, "disagrees"),
];

/// A row without an edge that is not pressed.
pub(crate) fn row(key: &str, body: Body) -> Row {
    Row { key: key.to_owned(), edge: None, now: false, spoken: String::new(), go: None, body }
}

fn told(mut row: Row, edge: Edge, spoken: &str) -> Row {
    row.edge = Some(edge);
    spoken.clone_into(&mut row.spoken);
    row
}

fn to(mut row: Row, token: &str) -> Row {
    row.go = Some(token.to_owned());
    row
}

fn now(mut row: Row) -> Row {
    row.now = true;
    row
}

fn pick(text: &str, second: &str, on: bool) -> Pick {
    Pick { text: text.to_owned(), second: second.to_owned(), on, token: format!("pick {text}"), asks: None }
}

fn asking(text: &str, token: &str, label: &str, numeric: bool, file: bool) -> Pick {
    let unit = if numeric { "A" } else { "" }.to_owned();
    let asks = Some(Ask { label: label.to_owned(), numeric, unit, file });
    Pick { text: text.to_owned(), second: String::new(), on: false, token: token.to_owned(), asks }
}

fn headline(key: &str, text: &str, right: &[&str]) -> Row {
    row(key, Body::Headline { text: text.to_owned(), right: right.iter().map(|&word| word.to_owned()).collect() })
}

fn item(key: &str, tag: Option<&str>, title: &str, second: &str, value: &str, mark: bool) -> Row {
    let tag = tag.map(str::to_owned);
    let (title, second, value) = (title.to_owned(), second.to_owned(), value.to_owned());
    row(key, Body::Item { tag, title, second, value, mark })
}

fn screen(address: &str, title: &str, tag: Option<&str>, rows: Vec<Row>) -> Screen {
    Screen {
        address: address.to_owned(),
        over: "Lantern Lane, back stair".to_owned(),
        title: title.to_owned(),
        tag: tag.map(str::to_owned),
        drawn: 0,
        rows,
        ongoing: Some("Circuit 7 OFF since 08:52, lock of W. Tolliver".to_owned()),
        file: None,
        beside: None,
    }
}

/// Every kind of row.
pub(crate) fn all() -> Screen {
    let mut rows = notices();
    rows.extend(asked());
    rows.extend(readings());
    rows.extend(wires());
    rows.push(row(
        "deeds",
        Body::Deeds {
            back: true,
            main: Some(pick("Dead check B6", "", false)),
            others: vec![asking("Remark", "remark", "Your remark", false, false)],
        },
    ));
    screen("kinds", "Foot of stair", Some("B3"), rows)
}

fn notices() -> Vec<Row> {
    vec![
        row(
            "hazard",
            Body::Notice {
                hazard: true,
                title: "The switch breaks the neutral of the wall light".to_owned(),
                text: "B3: D white is on “switched”. With the switch off, the light in B5 still has 120 V to ground."
                    .to_owned(),
                citation: Some("404.2(B), 2020 edition. The local code decides.".to_owned()),
            },
        ),
        row(
            "caution",
            Body::Notice {
                hazard: false,
                title: "What this record is".to_owned(),
                text: "what was read, where, when, by whom, with which meter.".to_owned(),
                citation: Some("The local code and a licensed person decide.".to_owned()),
            },
        ),
        to(
            told(
                item("iso", None, "Circuit 7 OFF since 08:52", "lock of W. Tolliver", "", false),
                Edge::Found,
                "Circuit 7 OFF since 08:52, as found",
            ),
            "go:dead",
        ),
        now(row(
            "step1",
            Body::Step {
                number: 1,
                title: "Dead check B6 again".to_owned(),
                second: "site was left 12:10 to 12:55".to_owned(),
                value: String::new(),
                done: false,
            },
        )),
        row(
            "step2",
            Body::Step {
                number: 2,
                title: "Proved meter M2 on panel P".to_owned(),
                second: "13:31, circuit 5, low impedance".to_owned(),
                value: "121.4\u{a0}V".to_owned(),
                done: true,
            },
        ),
    ]
}

fn asked() -> Vec<Row> {
    let blank = |key: &str, label: &str, value: &str, unit: &str, numeric| {
        let (label, value, unit) = (label.to_owned(), value.to_owned(), unit.to_owned());
        row(key, Body::Blank { label, value, unit, numeric, enter: format!("{key} is") })
    };
    vec![
        headline("ask", "What can be asked", &["3 of 9"]),
        row(
            "layer",
            Body::Choice {
                label: "Layer".to_owned(),
                options: vec![
                    pick("found", "11:52", true),
                    pick("planned", "6 changes", false),
                    pick("left", "not yet", false),
                ],
            },
        ),
        blank("volts", "Hot to neutral", "", "V", true),
        blank("place", "Where it is", "foot of stair", "", false),
        row(
            "more",
            Body::Choice {
                label: "Others".to_owned(),
                options: vec![
                    asking("number", "typed", "Amps in the clamp", true, false),
                    asking("file", "import", "Entries from another phone", false, true),
                    Pick { token: "refuse:".to_owned(), ..pick("refused", "", false) },
                    Pick { token: "break:".to_owned(), ..pick("breaks", "", false) },
                    Pick { token: "slow".to_owned(), ..pick("slow", "", false) },
                    Pick { token: "file:".to_owned(), ..pick("hand out", "", false) },
                ],
            },
        ),
    ]
}

fn figure(key: &str, words: (&str, &str), read: (&str, &str, &str), share: Option<u32>) -> Row {
    let ((title, second), (value, unit, computed)) = (words, read);
    row(
        key,
        Body::Figure {
            title: title.to_owned(),
            second: second.to_owned(),
            value: value.to_owned(),
            unit: unit.to_owned(),
            computed: computed.to_owned(),
            share,
        },
    )
}

fn readings() -> Vec<Row> {
    let at =
        |name: &str, up| HandleAt { name: name.to_owned(), position: if up { "up" } else { "down" }.to_owned(), up };
    let trial = |key: &str, b3, b6, words: [&str; 3], answers| {
        let [computed, seen, verdict] = words.map(str::to_owned);
        row(key, Body::Trial { handles: vec![at("B3", b3), at("B6", b6)], computed, seen, verdict, answers })
    };
    vec![
        headline("trials", "a: stair light", &["worked out", "seen"]),
        told(
            trial("t1", true, true, ["on", "on", "agrees"], vec![]),
            Edge::Left,
            "B3 up, B6 up: worked out on, seen on, agrees",
        ),
        told(
            trial("t2", false, false, ["on", "off", "disagrees"], vec![]),
            Edge::Disagrees,
            "B3 down, B6 down: worked out on, seen off, disagrees",
        ),
        told(
            trial("t3", true, false, ["off", "", ""], vec![pick("on", "", false), pick("off", "", false)]),
            Edge::Planned,
            "B3 up, B6 down: worked out off, not seen yet",
        ),
        headline("figures", "Readings and amounts", &[]),
        told(
            figure("f1", ("hot to neutral", "low impedance"), ("119.6", "V", "worked out 118.9 to 120.3"), None),
            Edge::Left,
            "hot to neutral 119.6 volts",
        ),
        now(told(
            figure("f2", ("TRAV 2, red", "to neutral, white"), ("", "V", ""), None),
            Edge::Planned,
            "TRAV 2, red, to neutral: to be read",
        )),
        told(
            figure(
                "f3",
                ("Box fill", "2020, 314.16(B): 11 allowances × 2.00"),
                ("22.0", "in³", "of 32.0 marked"),
                Some(688),
            ),
            Edge::Found,
            "Box fill 22.0 of 32.0 cubic inches",
        ),
        told(
            figure("f4", ("Box fill, with a tenth", "over the limit"), ("36.0", "in³", "of 32.0 marked"), Some(1125)),
            Edge::Disagrees,
            "Box fill 36.0 of 32.0 cubic inches",
        ),
    ]
}

fn wires() -> Vec<Row> {
    let colours = [
        "black",
        "white",
        "red",
        "blue",
        "green",
        "green_yellow",
        "gray",
        "brown",
        "orange",
        "yellow",
        "purple",
        "bare",
        "cloth",
        "painted",
        "cannot_tell",
    ];
    let strands = colours
        .iter()
        .map(|colour| Strand { colour: (*colour).to_owned(), text: colour.replace('_', " "), tape: *colour == "red" })
        .collect();
    let body = Body::Strands {
        title: "Colour belongs to copper".to_owned(),
        second: "always with its word".to_owned(),
        strands,
    };
    vec![
        headline("copper", "Conductors", &[]),
        to(told(row("strands", body), Edge::Found, "15 conductors"), "go:laptop"),
        told(row("picture", wide_picture()), Edge::Found, "Box B3, two cables"),
        row(
            "table",
            Body::Grid {
                columns: ["box", "state", "read"].map(str::to_owned).to_vec(),
                cells: vec![
                    ["B3", "as left 15:20", "0.1 V"].map(str::to_owned).to_vec(),
                    ["B6", "stale", "0.0 V"].map(str::to_owned).to_vec(),
                ],
            },
        ),
    ]
}

fn shape(role: &str, edge: Option<Edge>, form: Form) -> Shape {
    Shape { role: role.to_owned(), edge, form }
}

fn words(role: &str, x: f64, y: f64, text: &str, bold: bool) -> Shape {
    shape(role, None, Form::Words { x, y, text: text.to_owned(), size: 13.0, anchor: Anchor::Middle, bold })
}

/// A tray with a sheath, conductors in every state and a device, wider than a phone.
fn wide_picture() -> Body {
    let rect = |x, y, width, height, round| Form::Rect { x, y, width, height, round };
    let mut shapes = vec![shape("tray", Some(Edge::Left), rect(4.0, 22.0, 472.0, 210.0, 0.0))];
    let mut places = Vec::new();
    for (n, (edge, word)) in EDGES.iter().enumerate() {
        let x = 20.0 + 65.0 * f64::from(u8::try_from(n).unwrap_or(0));
        let colour = ["black", "white", "red", "bare", "green", "blue", "gray"].get(n).copied().unwrap_or("black");
        let line = |width| Form::Path { d: format!("M{} 50V150", x + 40.0), width, filled: false };
        shapes.push(shape("jacket_14", Some(*edge), rect(x, 4.0, 57.0, 46.0, 0.0)));
        shapes.push(shape("tray", None, line(9.4)));
        shapes.push(shape("picture_ink", Some(*edge), line(6.8)));
        shapes.push(shape(colour, Some(*edge), line(4.6)));
        shapes.push(shape("tape", Some(*edge), rect(x, 80.0, 34.0, 32.0, 0.0)));
        shapes.push(words("picture_ink", x + 28.0, 22.0, colour, true));
        shapes.push(words("picture_ink", x + 28.0, 38.0, word.split(' ').next().unwrap_or(""), false));
        shapes.push(shape("brass", Some(*edge), Form::Circle { x: x + 40.0, y: 160.0, radius: 9.5 }));
        places.push(Touch {
            x,
            y: 60.0,
            width: 60.0,
            height: 120.0,
            spoken: format!("cable {n}, {colour}, {word}"),
            token: format!("touch {n}"),
        });
    }
    shapes.push(shape("body", Some(Edge::Found), rect(8.0, 190.0, 464.0, 36.0, 10.0)));
    shapes.push(words("picture_ink", 240.0, 213.0, "three-way switch", true));
    Body::Drawing { width: 480.0, height: 240.0, shapes, places }
}

/// Every edge with its mark, as tape and as plain rows.
pub(crate) fn edges() -> Screen {
    let mut rows: Vec<Row> = EDGES
        .iter()
        .enumerate()
        .map(|(n, (edge, word))| {
            let key = format!("b{n}");
            let tag = format!("B{}", n + 1);
            let row = item(&key, Some(&tag), "Cellar, by panel", word, "", true);
            to(told(row, *edge, &format!("{tag}, cellar, {word}")), "go:dead")
        })
        .collect();
    rows.push(row("deeds", Body::Deeds { back: true, main: None, others: vec![] }));
    screen("edges", "The edge says how we know", None, rows)
}

/// A dead check: quick values of equal weight, no main deed.
pub(crate) fn dead_check() -> Screen {
    let step = |number, title: &str, second: &str, value: &str, done| {
        let (title, second, value) = (title.to_owned(), second.to_owned(), value.to_owned());
        row(&format!("s{number}"), Body::Step { number, title, second, value, done })
    };
    let mut rows = vec![
        step(1, "Proved meter M2 on panel P", "13:31, circuit 5, low impedance", "121.4\u{a0}V", true),
        now(step(2, "14 pairs, 5 read", "limit 3 V, a policy of this job", "", false)),
        to(
            told(
                item("g", None, "Clipped on ground: 4 pairs", "TRAV 1, TRAV 2, SW LEG, neutral", "0.1\u{a0}V", false),
                Edge::Left,
                "4 pairs, highest 0.1 volts",
            ),
            "go:edges",
        ),
        headline("clip", "Clip it on neutral, touch:", &["3 pairs"]),
        told(figure("p1", ("TRAV 1, black", ""), ("0.0", "V", ""), None), Edge::Left, "TRAV 1, black, 0.0 volts"),
        now(told(
            figure("p2", ("TRAV 2, red", "to neutral, white"), ("", "V", ""), None),
            Edge::Planned,
            "TRAV 2, red, to be read",
        )),
        row(
            "quick",
            Body::Choice {
                label: String::new(),
                options: ["0.0\u{a0}V", "0.1\u{a0}V", "0.2\u{a0}V", "0.3\u{a0}V", "over the limit", "no digits"]
                    .map(|text| pick(text, "", false))
                    .to_vec(),
            },
        ),
        told(
            item("rest", None, "SW LEG, black", "to neutral, then 3 across, then flip B6", "9 more", false),
            Edge::Unknown,
            "9 more pairs",
        ),
        step(3, "Prove the meter again", "same source", "", false),
    ];
    rows.push(row(
        "deeds",
        Body::Deeds {
            back: true,
            main: None,
            others: vec![pick("Other value", "", false), pick("Take back", "", false)],
        },
    ));
    screen("dead", "Dead check, again", Some("B6"), rows)
}

/// The front page of a job, for a wide screen.
pub(crate) fn laptop() -> Screen {
    let places = [
        "Cellar, by panel",
        "Cellar receptacle",
        "Foot of stair, 2-gang",
        "Glue bench receptacle",
        "Wall light, new box",
        "Top of stair, three-way",
        "Landing ceiling, light",
    ];
    let mut rows = vec![
        headline("c", "Circuit 7", &[]),
        row("picture", wide_picture()),
        headline("boxes", "Boxes, as the power runs", &["3 off now"]),
    ];
    for (n, (place, (edge, word))) in places.iter().zip(EDGES).enumerate() {
        let tag = format!("B{}", n + 1);
        rows.push(to(
            told(item(&format!("b{n}"), Some(&tag), place, word, "", true), edge, &format!("{tag}, {place}, {word}")),
            "go:dead",
        ));
    }
    rows.push(headline("found", "Found so far", &["the local code decides"]));
    rows.push(told(
        item("n1", None, "B4: neutral 5 in. free", "6 in. from the sheath, 300.14", "", false),
        Edge::Found,
        "B4: neutral 5 inches free",
    ));
    rows.push(headline("take", "Take along", &[]));
    rows.push(told(
        item("m1", None, "14-2, 16 ft", "14 ft measured, 2 ft allowance", "", false),
        Edge::Planned,
        "14-2, 16 feet",
    ));
    rows.push(row(
        "deeds",
        Body::Deeds {
            back: true,
            main: Some(pick("Dead check B6", "", false)),
            others: vec![pick("Note", "", false), pick("Day record", "", false), pick("Merge", "", false)],
        },
    ));
    screen("laptop", "Back stair, wall light", None, rows)
}
