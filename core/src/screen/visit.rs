//! Who is here, for which job: arriving, leaving, coming back, telling people.

use crate::job::{Kind, Layer};
use crate::refusal::Refusal;
use crate::token::Line;

use super::front::site_name;
use super::parts::{choice, deeds, headline, item, sentence, w, wf};
use super::row::{Edge, Pick, Screen};
use super::said::thing_words;
use super::state::moment;
use super::view::View;

/// The page `visit`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let mut screen = view.screen(&site_name(view), &w("visit.title"));
    for visit in view.notes.visits().iter().filter(|visit| !visit.ended) {
        let job = thing_words(view, view.found(), visit.job);
        let second = match visit.away {
            Some((_, wall)) => wf("visit.away", &[("when", &moment(view, wall)), ("job", &job)]),
            None => wf("visit.here", &[("when", &moment(view, visit.arrived)), ("job", &job)]),
        };
        let name = view.person_name(visit.person);
        screen.rows.push(item(&format!("visit {}", visit.id), &name, &second).edge(Edge::Found));
    }
    let people = view.notes.things(Kind::Person, Layer::Site);
    // Whoever arrives mostly does so for the job that was noted last.
    let mut jobs = view.notes.things(Kind::Job, Layer::Site);
    jobs.reverse();
    if people.is_empty() {
        screen.rows.push(sentence("nobody", &w("visit.no_person")).edge(Edge::Unknown));
    }
    let arriving = people.iter().filter(|person| view.visit.is_none_or(|visit| visit.person != **person));
    // The job that is looked at stands first: it is what most people arrive for.
    let (now, others): (Vec<_>, Vec<_>) = jobs.into_iter().partition(|job| Some(*job) == view.job);
    for job in now.into_iter().chain(others) {
        let options = arriving.clone().map(|person| {
            let event = Line::new("arrive").word(person).with("job", job);
            Pick::new(&view.person_name(*person), view.event_then(event, &view.page("job")))
        });
        let label = wf("visit.arrive_for", &[("job", &thing_words(view, view.found(), job))]);
        let options: Vec<Pick> = options.collect();
        if !options.is_empty() {
            screen.rows.push(choice(&format!("arrive {job}"), &label, options));
        }
    }
    if view.job.is_some() {
        screen.rows.push(headline("told", &w("visit.told"), ""));
        screen.rows.push(super::parts::blank("tell", &w("visit.tell"), "", view.event(Line::new("told").word("?"))));
    }
    let mut others = vec![Pick::new(&w("deed.person"), view.go(&view.page("person")))];
    let front = view.page("job");
    let main = match view.visit {
        Some(visit) if visit.away.is_some() => {
            others.push(Pick::new(&w("deed.end_visit"), view.event_then(Line::new("leave").word("end"), &front)));
            others.push(Pick::new(&w("deed.coming_back"), view.go(&view.page("coming-back"))));
            Some(Pick::new(&w("deed.back"), view.event_then(Line::new("back"), &view.page("coming-back"))))
        }
        Some(_) => {
            let leave = Pick::new(&w("deed.leave"), view.event_then(Line::new("leave"), &front));
            others.push(leave.second(&w("deed.leave_why")));
            others.push(Pick::new(&w("deed.end_visit"), view.event_then(Line::new("leave").word("end"), &front)));
            others.push(Pick::new(&w("deed.coming_back"), view.go(&view.page("coming-back"))));
            Some(Pick::new(&w("deed.leaving"), view.go(&view.page("leaving"))))
        }
        None => None,
    };
    screen.rows.push(deeds(main, others));
    Ok(screen)
}
