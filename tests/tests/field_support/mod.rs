//! Reads, plays and judges the field cases.

mod fault;
mod operated;
mod stage;
mod statement;

use std::collections::{BTreeMap, BTreeSet};

use boxproof_core::token::Line;

pub(crate) use stage::Stage;

/// A numbered line of the file.
type Numbered = (usize, String);

/// The cause as reported, and a right wiring: every case has both.
const WITH: &str = "with";
const WITHOUT: &str = "without";

/// One way of wiring the case.
#[derive(Debug, Default)]
struct Variant {
    /// The variant whose lines come before its own.
    like: Option<String>,
    script: Vec<Numbered>,
    /// What is broken rather than wired.
    faults: Vec<(usize, Line)>,
}

/// Something that must hold in one variant.
#[derive(Debug)]
struct Statement {
    line: usize,
    variant: String,
    text: String,
    said: Line,
}

/// One case as it is written.
#[derive(Debug)]
pub(crate) struct Case {
    file: String,
    wiring: Vec<Numbered>,
    variants: BTreeMap<String, Variant>,
    statements: Vec<Statement>,
}

/// What the lines that follow belong to.
enum Part {
    Head,
    Wiring,
    Variant(String),
    Statements,
}

/// Words that may begin a line of the head.
const HEAD: &[&str] = &["source", "stated", "inferred", "not reproduced", "remark"];

impl Case {
    /// Reads a case. An error names the file and the line.
    pub(crate) fn read(file: &str, text: &str) -> Result<Self, String> {
        let mut case =
            Self { file: file.to_owned(), wiring: Vec::new(), variants: BTreeMap::new(), statements: Vec::new() };
        let mut part = Part::Head;
        let mut heads = BTreeSet::new();
        for (n, line) in text.lines().enumerate().map(|(n, line)| (n + 1, line.trim())) {
            let fault = |why: &str| format!("{file}, line {n}: {line}: {why}");
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            if let Some(title) = line.strip_prefix("==") {
                part = case.part(title.trim()).map_err(|why| fault(&why))?;
                continue;
            }
            match &part {
                Part::Head => {
                    // A line that begins with none of the words goes on with the one before it.
                    let word = HEAD.iter().find(|word| line.strip_prefix(**word).is_some_and(|l| l.starts_with(':')));
                    heads.extend(word);
                    if heads.is_empty() {
                        return Err(fault("the head begins with “source:”"));
                    }
                }
                Part::Wiring => case.wiring.push((n, line.to_owned())),
                Part::Variant(name) => {
                    let variant = case.variants.entry(name.clone()).or_default();
                    match line.strip_prefix("fault ") {
                        Some(said) => {
                            let said = said.parse().map_err(|why| fault(&format!("{why}")))?;
                            variant.faults.push((n, said));
                        }
                        None => variant.script.push((n, line.to_owned())),
                    }
                }
                Part::Statements => {
                    let (variant, text) = line.split_once(": ").ok_or_else(|| fault("which variant?"))?;
                    if !case.variants.contains_key(variant) {
                        return Err(fault("no variant has this name"));
                    }
                    let said = text.parse().map_err(|why| fault(&format!("{why}")))?;
                    let (variant, text) = (variant.to_owned(), text.to_owned());
                    case.statements.push(Statement { line: n, variant, text, said });
                }
            }
        }
        case.checked(&heads)
    }

    fn part(&mut self, title: &str) -> Result<Part, String> {
        let words: Vec<&str> = title.split_whitespace().collect();
        match words.as_slice() {
            ["wiring"] => Ok(Part::Wiring),
            ["statements"] => Ok(Part::Statements),
            ["variant", name, rest @ ..] => {
                let like = match rest {
                    [] => None,
                    ["like", other] if self.variants.contains_key(*other) => Some((*other).to_owned()),
                    _ => return Err("it is “variant NAME” or “variant NAME like EARLIER”".to_owned()),
                };
                let variant = Variant { like, ..Variant::default() };
                if self.variants.insert((*name).to_owned(), variant).is_some() {
                    return Err("this variant is there already".to_owned());
                }
                Ok(Part::Variant((*name).to_owned()))
            }
            _ => Err("it is “wiring”, “variant NAME” or “statements”".to_owned()),
        }
    }

    fn checked(self, heads: &BTreeSet<&&str>) -> Result<Self, String> {
        let says = |name: &str| self.statements.iter().any(|statement| statement.variant == name);
        let missing = |what: String| Err(format!("{}: {what}", self.file));
        for head in ["source", "stated"] {
            if !heads.contains(&head) {
                return missing(format!("no {head} is told"));
            }
        }
        for name in [WITH, WITHOUT].into_iter().chain(self.variants.keys().map(String::as_str)) {
            if !self.variants.contains_key(name) {
                return missing(format!("there is no variant {name}"));
            }
            if !says(name) {
                return missing(format!("the case says nothing of the variant {name}"));
            }
        }
        Ok(self)
    }

    /// The lines and faults of a variant, those of the variants that it is like before its own.
    fn lines(&self, name: &str) -> (Vec<Numbered>, Vec<(usize, Line)>) {
        let variant = &self.variants[name];
        let (mut script, mut faults) = match &variant.like {
            Some(other) => self.lines(other),
            None => (self.wiring.clone(), Vec::new()),
        };
        script.extend(variant.script.iter().cloned());
        faults.extend(variant.faults.iter().cloned());
        (script, faults)
    }

    /// Plays every variant through the notebook.
    pub(crate) fn play(self) -> Result<Played, String> {
        let names: Vec<String> = self.variants.keys().cloned().collect();
        let stages = names.into_iter().map(|name| {
            let (script, faults) = self.lines(&name);
            let stage = Stage::of(&script, &faults);
            stage.map(|stage| (name.clone(), stage)).map_err(|why| format!("{} ({name}), {why}", self.file))
        });
        let stages = stages.collect::<Result<_, _>>()?;
        Ok(Played { case: self, stages })
    }
}

/// A case with its variants on the stage.
pub(crate) struct Played {
    case: Case,
    stages: BTreeMap<String, Stage>,
}

impl Played {
    /// Everything that is not as the case says, one sentence each.
    pub(crate) fn wrong(&self) -> Vec<String> {
        let mut wrong = Vec::new();
        let mut tells_apart = false;
        for statement in &self.case.statements {
            let at = format!("{}, line {}: {}: {}", self.case.file, statement.line, statement.variant, statement.text);
            match self.stages[&statement.variant].check(&statement.said) {
                Ok(outcome) if outcome.holds => {}
                Ok(outcome) => wrong.push(format!("{at}\n    but: {}", outcome.got)),
                Err(why) => wrong.push(format!("{at}\n    {why}")),
            }
            if statement.variant == WITH {
                tells_apart |= self.stages[WITHOUT].check(&statement.said).is_ok_and(|outcome| !outcome.holds);
            }
        }
        if !tells_apart {
            wrong.push(format!("{}: nothing that holds with the cause fails without it", self.case.file));
        }
        wrong
    }
}
