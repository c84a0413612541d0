//! Values that were noted twice and differ: nothing is claimed across them until somebody confirms one.

use crate::job::{Field, Layer, Notes, Place, Subject, Value};
use crate::name::Called;
use crate::words::say;

/// Everything noted twice in a layer and those that it looks through to, a line each.
pub fn twice_words(notes: &Notes, layer: Layer, called: &Called<'_>) -> Vec<String> {
    let layers = notes.through(layer);
    let again = notes.said_again().filter(|(_, _, layer)| layers.contains(layer));
    again.filter_map(|(of, field, layer)| line(notes, of, field, layer, called)).collect()
}

fn line(notes: &Notes, of: &Subject, field: &Field, layer: Layer, called: &Called<'_>) -> Option<String> {
    let mut values: Vec<&Value> = Vec::new();
    for said in notes.current(of, field, layer) {
        if !values.contains(&&said.value) {
            values.push(&said.value);
        }
    }
    let first = values.first().filter(|_| values.len() > 1)?;
    let words: Vec<String> = values.iter().map(|value| value_words(called, value)).collect();
    let fill = [("what", subject_words(called, of)), ("field", written(first).0), ("values", words.join(" / "))];
    let fill: Vec<(&str, &str)> = fill.iter().map(|(slot, text)| (*slot, text.as_str())).collect();
    Some(say("tell.twice", &fill))
}

fn subject_words(called: &Called<'_>, of: &Subject) -> String {
    match of {
        Subject::Tip(tip) => called.tip_in_box(tip),
        Subject::Side(id, _) => called.run(*id),
        Subject::Thing(id) => {
            let wiring = called.wiring;
            if wiring.devices.contains_key(id) {
                called.device_in_box(*id)
            } else if wiring.splices.contains_key(id) {
                called.spot_in_box(&crate::job::Spot::Splice(*id))
            } else if wiring.runs.contains_key(id) {
                called.run(*id)
            } else if wiring.boxes.contains_key(id) {
                called.r#box(*id)
            } else {
                say("tell.twice.site", &[])
            }
        }
    }
}

/// A value's field and its inner value as text, as entries write them.
fn written(value: &Value) -> (String, String) {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::Object(one)) => {
            let (field, inner) = one.into_iter().next().unwrap_or_default();
            let text = inner.as_str().map_or_else(|| inner.to_string(), str::to_owned);
            (field.replace('_', " "), text)
        }
        _ => (String::new(), String::new()),
    }
}

fn value_words(called: &Called<'_>, value: &Value) -> String {
    match value {
        Value::Place(Place::Splice(id)) => called.splice(*id),
        Value::Place(Place::Terminal { device, terminal, .. }) => {
            called.spot(&crate::job::Spot::Terminal { device: *device, terminal: terminal.clone() })
        }
        Value::InBox(Some(id)) => called.r#box(*id),
        other => written(other).1,
    }
}
