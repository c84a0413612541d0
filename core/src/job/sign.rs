//! Signing, identity and reading of entries.
//!
//! What is signed (Ed25519, RFC 8032) is the bytes
//!
//! ```text
//! "boxproof entry 1" 00 | prev (32 bytes) | author (32 bytes) | the body's bytes as stored
//! ```
//!
//! where `prev` and `author` are those that the body names. An entry's identity is SHA-256 (FIPS 180-4) over the
//! same bytes followed by the 64 bytes of the signature. Nothing is ever written anew before it is checked.
//!
//! A body of a newer version is kept and passed on, but not read: of it only the [`Head`] is known, which every
//! version writes alike, so that its signature and its place in its author's chain can be checked.

use std::fmt;

use ed25519_dalek::{Signature, Signer as _, SigningKey, VerifyingKey};
use serde::Deserialize;
use sha2::{Digest, Sha256};

use super::entry::{Entry, Fact, MOST_FACTS, Noted, Signed, VERSION};
use super::id::{Author, Hash, ThingId};
use crate::words::say;

/// Stands before everything that is signed, so that a signature of ours means an entry and nothing else.
pub const TAG: &[u8; 17] = b"boxproof entry 1\0";

/// Most bytes of a body: one mebibyte.
pub const MOST_BYTES: usize = 1 << 20;

/// Greatest tick: the greatest integer that every JSON reader keeps exactly.
pub const MOST_TICK: u64 = (1 << 53) - 1;

/// The part of a body that every version writes alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub struct Head {
    /// Version of the form.
    pub v: u16,
    /// The site that it belongs to.
    pub site: ThingId,
    /// Who signed it.
    pub author: Author,
    /// The author's running number at this site, from 1.
    pub seq: u32,
    /// The author's entry before at this site, or [`Hash::NONE`].
    pub prev: Hash,
    /// One more than the greatest tick that the author had seen.
    pub tick: u64,
}

impl From<&Entry> for Head {
    fn from(entry: &Entry) -> Self {
        let &Entry { v, site, author, seq, prev, tick, .. } = entry;
        Self { v, site, author, seq, prev, tick }
    }
}

/// An entry of a newer version: kept and passed on, not read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Newer {
    /// Its identity.
    pub hash: Hash,
    /// What is known of it.
    pub head: Head,
}

/// What reading an entry gives.
#[derive(Debug, Clone)]
pub enum Read {
    /// An entry of a version that this program reads.
    Known(Noted),
    /// One of a newer version.
    Newer(Newer),
}

impl Read {
    /// The entry's identity.
    pub fn hash(&self) -> Hash {
        match self {
            Self::Known(noted) => noted.hash,
            Self::Newer(newer) => newer.hash,
        }
    }

    /// The entry's head.
    pub fn head(&self) -> Head {
        match self {
            Self::Known(noted) => Head::from(&noted.entry),
            Self::Newer(newer) => newer.head,
        }
    }
}

/// Why something is not taken for an entry.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unread {
    /// The body has more bytes than [`MOST_BYTES`].
    #[error("{}", say("log.entry.too_long", &[("most", &MOST_BYTES.to_string())]))]
    TooLong,
    /// There are more facts than [`MOST_FACTS`].
    #[error("{}", say("log.entry.too_many", &[("most", &MOST_FACTS.to_string())]))]
    TooMany,
    /// The body is not one line of JSON of the form of an entry.
    #[error("{}", say("log.entry.form", &[("why", .0)]))]
    Form(String),
    /// A number, a tick or the predecessor cannot be.
    #[error("{}", say("log.entry.number", &[]))]
    Number,
    /// The signature is not the author's over these bytes.
    #[error("{}", say("log.entry.signature", &[]))]
    Signature,
    /// The entry names another author than the one who would sign it.
    #[error("{}", say("log.entry.author", &[]))]
    Author,
}

/// The body of an entry as far as it can be read.
#[derive(Debug, Clone)]
pub enum Body {
    /// Of a version that this program reads.
    Known(Entry),
    /// Of a newer version.
    Newer(Head),
}

impl Body {
    /// The head that every version has.
    pub fn head(&self) -> Head {
        match self {
            Self::Known(entry) => Head::from(entry),
            Self::Newer(head) => *head,
        }
    }

    /// The body with the identity that it has together with its signature.
    pub fn with_hash(self, hash: Hash) -> Read {
        match self {
            Self::Known(entry) => Read::Known(Noted { hash, entry }),
            Self::Newer(head) => Read::Newer(Newer { hash, head }),
        }
    }
}

/// Reads a body within its limits, without a look at any signature.
pub fn parse(body: &str) -> Result<Body, Unread> {
    if body.len() > MOST_BYTES {
        return Err(Unread::TooLong);
    }
    // A body stands verbatim in one line of an exchange file, so it holds no line break and begins and ends itself.
    if !body.starts_with('{') || !body.ends_with('}') || body.bytes().any(|byte| byte < b' ') {
        return Err(Unread::Form(say("log.entry.one_line", &[])));
    }
    let read = match serde_json::from_str::<Entry>(body) {
        Ok(entry) if entry.v <= VERSION => Body::Known(entry),
        Ok(entry) => Body::Newer(Head::from(&entry)),
        Err(error) => match serde_json::from_str::<Head>(body) {
            Ok(head) if head.v > VERSION => Body::Newer(head),
            _ => return Err(Unread::Form(error.to_string())),
        },
    };
    let Head { v, seq, prev, tick, .. } = read.head();
    if v == 0 || seq == 0 || tick == 0 || tick > MOST_TICK || (seq == 1) != (prev == Hash::NONE) {
        return Err(Unread::Number);
    }
    match &read {
        Body::Known(entry) if entry.facts.len() > MOST_FACTS => Err(Unread::TooMany),
        _ => Ok(read),
    }
}

/// The identity of an entry whose body has this head.
pub fn identity(head: &Head, signed: &Signed) -> Hash {
    identity_of(head, &signed.body, &signed.signature)
}

/// The identity of an entry from its parts as they stand in a file.
pub(crate) fn identity_of(head: &Head, body: &str, signature: &[u8; 64]) -> Hash {
    let mut sum = Sha256::new();
    for part in [&TAG[..], &head.prev.0, &head.author.0, body.as_bytes(), signature] {
        sum.update(part);
    }
    Hash(sum.finalize().into())
}

/// The bytes that are signed.
fn signed_text(head: &Head, body: &str) -> Vec<u8> {
    [&TAG[..], &head.prev.0, &head.author.0, body.as_bytes()].concat()
}

/// Reads an entry from anywhere: checks its limits and its signature, and works out its identity.
pub fn read(signed: &Signed) -> Result<Read, Unread> {
    let body = parse(&signed.body)?;
    let head = body.head();
    let key = VerifyingKey::from_bytes(&head.author.0).map_err(|_| Unread::Signature)?;
    key.verify_strict(&signed_text(&head, &signed.body), &Signature::from_bytes(&signed.signature))
        .map_err(|_| Unread::Signature)?;
    Ok(body.with_hash(identity(&head, signed)))
}

/// An author's key pair. It is made from the 32 secret bytes of the shell's keystore and shows only its public half.
pub struct Signer {
    key: SigningKey,
}

impl fmt::Debug for Signer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Signer({:?})", self.author())
    }
}

impl Signer {
    /// The key pair of 32 secret bytes.
    pub fn from_seed(seed: [u8; 32]) -> Self {
        Self { key: SigningKey::from_bytes(&seed) }
    }

    /// The public key.
    pub fn author(&self) -> Author {
        Author(self.key.verifying_key().to_bytes())
    }

    /// Writes an entry's body, signs it, and gives its identity. Refuses what [`read`] would refuse.
    pub fn sign(&self, entry: &Entry) -> Result<(Signed, Hash), Unread> {
        if entry.author != self.author() {
            return Err(Unread::Author);
        }
        // What this version does not know it cannot state; and it states nothing in another version's name.
        if entry.v != VERSION || entry.facts.iter().any(|fact| matches!(fact, Fact::Newer(_))) {
            return Err(Unread::Form(say("log.entry.newer", &[])));
        }
        let body = serde_json::to_string(entry).map_err(|error| Unread::Form(error.to_string()))?;
        let head = parse(&body)?.head();
        let signature = self.key.sign(&signed_text(&head, &body)).to_bytes();
        let signed = Signed { body: body.into(), signature };
        let hash = identity(&head, &signed);
        Ok((signed, hash))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::job::entry::Add;
    use crate::job::{Happening, Subject, ThingId, Wall};

    fn thing(n: u8) -> ThingId {
        ThingId::new(1_778_593_260_000, [n; 16])
    }

    fn entry(me: &Signer, remark: &str) -> Entry {
        let add = Add { of: Subject::Thing(thing(2)), what: Happening::Remark(remark.to_owned()) };
        Entry {
            v: VERSION,
            site: thing(1),
            author: me.author(),
            seq: 1,
            prev: Hash::NONE,
            tick: 1,
            wall: Wall { utc_ms: 1_778_593_260_000, offset_min: -300 },
            visit: None,
            facts: vec![Fact::Add(add)],
        }
    }

    #[test]
    fn the_key_pair_is_that_of_rfc_8032() {
        // RFC 8032, section 7.1, test 1: secret key and public key.
        let seed = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60";
        let public = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a";
        let seed = crate::job::id::from_hex(seed).unwrap();
        let me = Signer::from_seed(seed);
        assert_eq!(me.author().to_string(), public);
        assert!(!format!("{me:?}").contains("9d61b1"), "the secret shows in {me:?}");
    }

    #[test]
    fn what_was_signed_reads_back() {
        let me = Signer::from_seed([7; 32]);
        let (signed, hash) = me.sign(&entry(&me, "B3: \u{201c}two hots\u{201d}\n\u{e9}")).unwrap();
        let Ok(Read::Known(noted)) = read(&signed) else { panic!("not read") };
        assert_eq!(noted.hash, hash);
        assert_eq!(serde_json::to_string(&noted.entry).unwrap(), *signed.body);
    }

    #[test]
    fn a_newer_version_is_kept_unread_and_its_signature_still_counts() {
        let me = Signer::from_seed([7; 32]);
        let (old, _) = me.sign(&entry(&me, "x")).unwrap();
        for body in [
            old.body.replacen(r#""v":1"#, r#""v":2"#, 1),
            old.body.replacen(r#""v":1"#, r#""v":2"#, 1).replacen(r#""facts":["#, r#""facts":7,"more":["#, 1),
        ] {
            let head = parse(&body).unwrap().head();
            let signature = me.key.sign(&signed_text(&head, &body)).to_bytes();
            let newer = Signed { body: body.clone().into(), signature };
            assert!(matches!(read(&newer), Ok(Read::Newer(Newer { head: Head { v: 2, .. }, .. }))), "{body}");
            assert_eq!(read(&Signed { signature: old.signature, ..newer }).unwrap_err(), Unread::Signature);
        }
    }

    #[test]
    fn what_would_not_be_read_is_not_signed() {
        let me = Signer::from_seed([7; 32]);
        let good = entry(&me, "x");
        let bad = [
            (Entry { author: Author([1; 32]), ..good.clone() }, Unread::Author),
            (Entry { seq: 0, ..good.clone() }, Unread::Number),
            (Entry { seq: 2, ..good.clone() }, Unread::Number),
            (Entry { tick: 0, ..good.clone() }, Unread::Number),
            (Entry { tick: MOST_TICK + 1, ..good.clone() }, Unread::Number),
            (Entry { facts: vec![good.facts[0].clone(); MOST_FACTS + 1], ..good.clone() }, Unread::TooMany),
            (entry(&me, &"x".repeat(MOST_BYTES)), Unread::TooLong),
        ];
        for (entry, why) in bad {
            assert_eq!(me.sign(&entry).unwrap_err(), why);
        }
        assert!(matches!(me.sign(&Entry { v: 2, ..good }), Err(Unread::Form(_))));
    }

    #[test]
    fn deep_nesting_does_not_exhaust_the_stack() {
        let me = Signer::from_seed([7; 32]);
        let (signed, _) = me.sign(&entry(&me, "x")).unwrap();
        let deep = format!("[{}{}]}}", "[".repeat(400_000), "]".repeat(400_000));
        let start = signed.body.find(r#""facts":"#).unwrap() + r#""facts":"#.len();
        let _ = parse(&format!("{}{deep}", &signed.body[..start]));
        let _ = parse(&format!("{}[{{\"set\":{deep}]}}", &signed.body[..start]));
    }

    proptest! {
        #[test]
        fn any_changed_byte_is_noticed(at in any::<prop::sample::Index>(), to in any::<u8>()) {
            let me = Signer::from_seed([7; 32]);
            let (signed, hash) = me.sign(&entry(&me, "receptacle, north wall")).unwrap();
            let mut body = signed.body.as_bytes().to_vec();
            let at = at.index(body.len());
            prop_assume!(body[at] != to);
            body[at] = to;
            if let Ok(body) = String::from_utf8(body) {
                let changed = Signed { body: body.into(), ..signed.clone() };
                prop_assert!(read(&changed).is_err());
            }
            let mut signature = signed.signature;
            signature[at % 64] ^= to | 1;
            let changed = Signed { signature, ..signed.clone() };
            prop_assert!(read(&changed).is_err());
            prop_assert_eq!(read(&signed).unwrap().hash(), hash);
        }

        #[test]
        fn no_text_makes_it_panic(body in ".{0,300}", signature in any::<[u8; 32]>()) {
            let signature = [signature, signature].concat().try_into().unwrap();
            let made_up = Signed { body: body.into(), signature };
            prop_assert!(read(&made_up).is_err());
        }
    }
}
