//! What a screen is made from: the notes, the catalogue, who looks and when; and the tokens that its rows carry.

use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;
use std::sync::Arc;

use crate::catalogue::Catalogue;
use crate::circuit::{Circuit, Hazard, hazards};
use crate::job::{Author, Fact, JobNote, Layer, Notes, PersonNote, Stamp, ThingId, Visit, Wall, Wiring};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::token::path::Names;
use crate::words::say;

use super::row::{Ask, Body, Edge, Pick, Row, Screen};

/// What a screen is made from.
pub struct View<'a> {
    /// Everything known of the site.
    pub notes: &'a Notes,
    /// What can be bought.
    pub catalogue: &'a Catalogue,
    /// The site.
    pub site: ThingId,
    /// Who looks.
    pub author: Author,
    /// The author's visit, if one has not ended.
    pub visit: Option<Visit>,
    /// The job that is looked at: the address's, the visit's, or the one noted last.
    pub job: Option<ThingId>,
    /// Now.
    pub now: Wall,
    /// Where we are.
    pub address: Line,
    found: OnceCell<Arc<Wiring>>,
    planned: OnceCell<Arc<Wiring>>,
    left: OnceCell<Arc<Wiring>>,
    /// States of boxes that were asked for already.
    pub(super) states: RefCell<BTreeMap<ThingId, super::state::BoxState>>,
    /// When anything of a box was last noted in a layer; worked out once for all boxes.
    pub(super) times: OnceCell<BTreeMap<(ThingId, Layer), Stamp>>,
    /// The same of the few boxes that were asked for one by one.
    pub(super) noted: RefCell<BTreeMap<(ThingId, Layer), Option<Stamp>>>,
    /// Dead checks by box; worked out once for all boxes.
    pub(super) deads: OnceCell<BTreeMap<ThingId, super::dead::Dead>>,
    /// Values noted twice; worked out once for all boxes.
    pub(super) twices: OnceCell<Vec<super::twice::Twice>>,
    hazards: OnceCell<Vec<Hazard>>,
}

impl<'a> View<'a> {
    /// A view of a site from an address.
    pub fn new(
        notes: &'a Notes,
        catalogue: &'a Catalogue,
        site: ThingId,
        author: Author,
        now: Wall,
        address: Line,
    ) -> Self {
        let visit = notes.visit_of(author);
        let asked = address.field("job").and_then(|job| job.parse().ok());
        let job = asked.or(visit.map(|visit| visit.job)).or_else(|| notes.job_now());
        let address = with_layer(notes, job, address);
        let (found, planned, left) = (OnceCell::new(), OnceCell::new(), OnceCell::new());
        let states = RefCell::default();
        let (times, deads, twices) = (OnceCell::new(), OnceCell::new(), OnceCell::new());
        Self {
            notes,
            catalogue,
            site,
            author,
            visit,
            job,
            now,
            address,
            found,
            planned,
            left,
            states,
            times,
            noted: RefCell::default(),
            deads,
            twices,
            hazards: OnceCell::new(),
        }
    }

    /// The wiring as the job found it; without a job, as the site has it.
    pub fn found(&self) -> &Wiring {
        self.found.get_or_init(|| self.notes.wiring(self.job.map_or(Layer::Site, Layer::Found)))
    }

    /// The wiring as the job plans it.
    pub fn planned(&self) -> &Wiring {
        self.planned.get_or_init(|| self.notes.wiring(self.job.map_or(Layer::Site, Layer::Planned)))
    }

    /// The wiring as the job left it.
    pub fn left(&self) -> &Wiring {
        self.left.get_or_init(|| self.notes.wiring(self.job.map_or(Layer::Site, Layer::Left)))
    }

    /// The wiring of the layer that the address asks for: `layer=planned`; as found otherwise.
    pub fn asked(&self) -> &Wiring {
        match self.address.field("layer") {
            Some("planned") => self.planned(),
            Some("left") => self.left(),
            _ => self.found(),
        }
    }

    /// The hazards of the asked layer's wiring, worst first; none where it cannot be worked out.
    pub(super) fn hazards(&self) -> &[Hazard] {
        self.hazards.get_or_init(|| {
            let circuit = Circuit::of(self.asked(), self.catalogue);
            circuit.map(|circuit| hazards(&circuit)).unwrap_or_default()
        })
    }

    /// The word of the asked layer.
    pub fn asked_word(&self) -> &'static str {
        match self.address.field("layer") {
            Some("planned") => "planned",
            Some("left") => "left",
            _ => "found",
        }
    }

    /// The job, read.
    pub fn job_note(&self) -> Option<JobNote> {
        self.job.map(|job| JobNote::read(self.notes, job))
    }

    /// A person's name.
    pub fn person_name(&self, person: ThingId) -> String {
        PersonNote::read(self.notes, person).name.get().cloned().unwrap_or_default()
    }

    /// An address at this site. A job that was chosen stays chosen.
    pub fn page(&self, page: &str) -> Line {
        Line::new(page).with("site", self.site).with_some("job", self.address.field("job"))
    }

    /// An address at this site that keeps looking at the same layer.
    pub fn page_here(&self, page: &str) -> Line {
        self.page(page).with_some("layer", self.address.field("layer"))
    }

    /// A token that leads to this same page with one field of its address changed; an empty value takes it away.
    pub fn here(&self, field: &str, value: &str) -> String {
        let mut to = self.address.clone();
        if value.is_empty() {
            to.fields.remove(field);
        } else {
            to = to.with(field, value);
        }
        self.go(&to)
    }

    /// The layer that the address asks for.
    pub fn layer(&self) -> Layer {
        self.asked().layer
    }

    /// The word of the asked layer for an event; none where there is no job and so no layers.
    pub fn layer_field(&self) -> Option<&'static str> {
        self.job.map(|_| self.asked_word())
    }

    /// What names in addresses mean.
    pub fn names(&self) -> Names<'a> {
        Names::new(self.notes, self.catalogue, self.layer())
    }

    /// The box that the address names: its first word, or its field `box`.
    pub fn box_asked(&self) -> Result<ThingId, Refusal> {
        let name = self.address.words.first().map(String::as_str).or(self.address.field("box"));
        let name = name.ok_or_else(|| Refusal::Input(say("refuse.missing_field", &[("name", "box")])))?;
        self.names().box_named(name)
    }

    /// A token that leads to an address.
    pub fn go(&self, to: &Line) -> String {
        Line::new("go").word(to).to_string()
    }

    /// A token that notes an event and stays on this screen.
    pub fn event(&self, event: Line) -> String {
        let here = self.address.clone();
        self.event_then(event, &here)
    }

    /// A token that notes an event and leads to an address.
    pub fn event_then(&self, event: Line, then: &Line) -> String {
        let job = self.address.field("job").filter(|_| event.field("job").is_none());
        event.with_some("job", job).with("site", self.site).with("then", then).to_string()
    }

    /// An empty screen at this address.
    pub fn screen(&self, over: &str, title: &str) -> Screen {
        Screen {
            address: self.address.to_string(),
            over: over.to_owned(),
            title: title.to_owned(),
            tag: None,
            drawn: self.notes.revision(),
            rows: Vec::new(),
            ongoing: None,
            file: None,
            beside: None,
        }
    }
}

/// Pages that are about one layer as a whole show the latest one that anything is noted in, unless one is asked for.
fn with_layer(notes: &Notes, job: Option<ThingId>, address: Line) -> Line {
    let about_a_layer = matches!(address.verb.as_str(), "table" | "findings");
    let Some(job) = job.filter(|_| about_a_layer && address.field("layer").is_none()) else { return address };
    let noted_in = |layer: Layer| {
        let kept = notes.entries().filter(|(_, kept)| !kept.struck).flat_map(|(_, kept)| &kept.noted.entry.facts);
        kept.into_iter().any(|fact| matches!(fact, Fact::Set(set) if set.layer == layer))
    };
    if noted_in(Layer::Left(job)) {
        address.with("layer", "left")
    } else if noted_in(Layer::Planned(job)) {
        address.with("layer", "planned")
    } else {
        address
    }
}

/// The words of an edge's state.
pub fn edge_word(edge: Edge) -> String {
    say(
        match edge {
            Edge::Disagrees => "state.disagrees",
            Edge::Stale => "state.stale",
            Edge::Unknown => "state.unknown",
            Edge::Planned => "state.planned",
            Edge::Found => "state.found",
            Edge::Unchecked => "state.unchecked",
            Edge::Left => "state.left",
        },
        &[],
    )
}

impl Row {
    /// A row that shows `body`, spoken as it is read.
    pub fn new(key: &str, body: Body) -> Self {
        let spoken = spoken(&body);
        Self { key: key.to_owned(), edge: None, now: false, spoken, go: None, body }
    }

    /// The row with a state; its word is spoken first.
    pub fn edge(mut self, edge: Edge) -> Self {
        self.spoken = format!("{}. {}", edge_word(edge), self.spoken);
        self.edge = Some(edge);
        self
    }

    /// The row as one that leads on.
    pub fn leads(mut self, token: String) -> Self {
        self.go = Some(token);
        self
    }

    /// The row as the one to be done now.
    pub fn now(mut self) -> Self {
        self.now = true;
        self
    }
}

impl Pick {
    /// Something to pick.
    pub fn new(text: &str, token: String) -> Self {
        Self { text: text.to_owned(), second: String::new(), on: false, token, asks: None }
    }

    /// With a second line.
    pub fn second(mut self, second: &str) -> Self {
        second.clone_into(&mut self.second);
        self
    }

    /// Picked now.
    pub fn on(mut self, on: bool) -> Self {
        self.on = on;
        self
    }

    /// Asks for a text first.
    pub fn asks(mut self, label: &str, numeric: bool) -> Self {
        self.asks = Some(Ask { label: label.to_owned(), numeric, ..Ask::default() });
        self
    }

    /// Asks for a file first.
    pub fn asks_file(mut self, label: &str) -> Self {
        self.asks = Some(Ask { label: label.to_owned(), file: true, ..Ask::default() });
        self
    }

    /// The unit of the number that it asks for.
    pub fn unit(mut self, unit: &str) -> Self {
        if let Some(ask) = &mut self.asks {
            unit.clone_into(&mut ask.unit);
        }
        self
    }
}

/// A whole row in words.
fn spoken(body: &Body) -> String {
    let join = |parts: &[&str]| {
        let parts: Vec<&str> = parts.iter().copied().filter(|part| !part.is_empty()).collect();
        parts.join(", ")
    };
    match body {
        Body::Headline { text, right } => {
            let mut parts = vec![text.as_str()];
            parts.extend(right.iter().map(String::as_str));
            join(&parts)
        }
        Body::Sentence { text } => text.clone(),
        Body::Notice { title, text, citation, .. } => join(&[title, text, citation.as_deref().unwrap_or_default()]),
        Body::Item { tag, title, second, value, .. } => {
            join(&[tag.as_deref().unwrap_or_default(), title, second, value])
        }
        Body::Blank { label, value, unit, .. } => join(&[label, value, unit]),
        Body::Choice { label, options } => {
            let picked = options.iter().find(|option| option.on).map_or("", |option| option.text.as_str());
            join(&[label, picked])
        }
        Body::Figure { title, second, value, unit, computed, .. } => {
            join(&[title, second, format!("{value} {unit}").trim(), computed])
        }
        Body::Trial { handles, computed, seen, verdict, .. } => {
            let at: Vec<String> = handles.iter().map(|handle| format!("{} {}", handle.name, handle.position)).collect();
            join(&[&at.join(", "), computed, seen, verdict])
        }
        Body::Strands { title, second, strands } => {
            let strands: Vec<&str> = strands.iter().map(|strand| strand.text.as_str()).collect();
            join(&[title, second, &strands.join(", ")])
        }
        Body::Step { title, second, value, .. } => join(&[title, second, value]),
        Body::Drawing { .. } | Body::Grid { .. } | Body::Deeds { .. } => String::new(),
    }
}
