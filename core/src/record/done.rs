//! What happened, in one sentence each: for lists in which all kinds stand beside each other.

use crate::job::happening::Used;
use crate::job::{Happening, Held, Reading};
use crate::tell::{figure_words, mode_words};
use crate::words::{count, english, say};

use super::name::{Names, goods, listed, words_of};

/// What happened, in words. What it happened to stands beside it.
pub(super) fn words(names: &Names<'_>, what: &Happening) -> String {
    match what {
        Happening::Arrived { job } => say("record.done.arrived", &[("job", &names.thing(*job))]),
        Happening::Gone { ended: true } => say("record.done.left", &[]),
        Happening::Gone { ended: false } => say("record.done.away", &[]),
        Happening::Back => say("record.done.back", &[]),
        Happening::CoverOff => say("record.done.cover_off", &[]),
        Happening::CoverOn => say("record.done.cover_on", &[]),
        Happening::Isolated(Held::Lock(person)) => say("record.done.locked", &[("person", &names.person(*person))]),
        Happening::Isolated(Held::Guarded) => say("record.done.guarded", &[]),
        Happening::Isolated(Held::NotKnown) => say("record.done.held_not_known", &[]),
        Happening::Unlocked(person) => say("record.done.unlocked", &[("person", &names.person(*person))]),
        Happening::Switched { on: true } => say("record.done.on", &[]),
        Happening::Switched { on: false } => say("record.done.off", &[]),
        Happening::Asked(asked) => count("record.done.asked", asked.pairs.len(), &[]),
        Happening::Proved(proof) => {
            let (mode, figure) = (mode_words(proof.mode), figure_words(&proof.figure, proof.mode));
            say("record.done.proved", &[("on", &proof.on), ("mode", &mode), ("figure", &figure)])
        }
        Happening::Read(reading) => read(names, reading),
        Happening::Tried(trial) => {
            let (load, at) = (names.load(&trial.load), names.at(&trial.at));
            {
                let seen = super::reading::on_off(trial.on);
                say("record.done.tried", &[("load", &load), ("at", &at), ("seen", &seen)])
            }
        }
        Happening::Parted => say("record.done.parted", &[]),
        Happening::Looked { tip, seen } => {
            say("record.done.looked", &[("tip", &names.tip(tip)), ("seen", &names.place(seen))])
        }
        Happening::FirstLook { spot, indicated } => {
            let key = if *indicated { "record.done.first_look.yes" } else { "record.done.first_look.no" };
            say(key, &[("spot", &names.spot(spot, None))])
        }
        other => typed(names, other),
    }
}

/// What people wrote in words of their own.
fn typed(names: &Names<'_>, what: &Happening) -> String {
    let (key, words) = match what {
        Happening::Told(words) => ("record.done.told", words.clone()),
        Happening::Readied(point) => ("record.done.readied", readied(point)),
        Happening::Concluded(words) => ("record.done.concluded", words.clone()),
        Happening::Remark(words) => ("record.done.remark", words.clone()),
        Happening::FoundNotOurs(words) => ("record.done.not_ours", words.clone()),
        Happening::DoNotCover(words) => ("record.done.do_not_cover", words.clone()),
        Happening::MayCover(words) => ("record.done.may_cover", words.clone()),
        Happening::Unfinished(words) => ("record.done.unfinished", words.clone()),
        Happening::Extra(words) => ("record.done.extra", words.clone()),
        Happening::Used(used) => ("record.done.used", self::used(names, used)),
        Happening::Hours(hours) => ("record.done.hours", hours.to_string()),
        Happening::Signed { .. } => ("record.done.signed", String::new()),
        _ => ("record.done.other", String::new()),
    };
    say(key, &[("words", &words)])
}

fn read(names: &Names<'_>, reading: &Reading) -> String {
    let (from, to) = (names.spot(&reading.pair.from, None), names.spot(&reading.pair.to, None));
    let figure = figure_words(&reading.figure, reading.mode);
    let purpose = words_of("record.purpose", &reading.purpose);
    say("record.done.read", &[("purpose", &purpose), ("from", &from), ("to", &to), ("figure", &figure)])
}

/// Something used, with its amount.
pub(super) fn used(names: &Names<'_>, used: &Used) -> String {
    let (item, amount) = (goods(names.catalogue, &used.item), amount(used));
    let whose = if used.customers { say("record.used.customers", &[]) } else { String::new() };
    listed([item, amount, whose])
}

/// How much was used, with its unit.
pub(super) fn amount(used: &Used) -> String {
    let unit = english().find(&format!("record.used.unit.{}", used.unit)).unwrap_or(&used.unit);
    format!("{} {unit}", used.amount)
}

/// A point of the list before power, in words.
pub(super) fn readied(point: &str) -> String {
    english().find(&format!("record.ready.{point}")).unwrap_or(point).to_owned()
}
