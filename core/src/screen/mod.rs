//! Screens: what is known of a site, as rows.

pub mod row;

pub use row::{Anchor, Ask, Body, Edge, FileOut, Form, HandleAt, Pick, Row, Screen, Shape, Strand, Touch};
