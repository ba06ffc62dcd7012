//! German. Compounds are one word, and their endings vary: `*` leaves the end open.

mod computer;
mod condition;
mod connector;
mod converter;
mod digital;
mod level;
mod measure;
mod microphone;
mod no_field;
mod noise;
mod pad;
mod place;
mod power;
mod stage;
mod switch;

use super::Term;

/// Its tables.
pub(super) const TABLES: &[&[Term]] = &[
    computer::TERMS,
    condition::TERMS,
    connector::TERMS,
    converter::TERMS,
    digital::TERMS,
    level::TERMS,
    measure::TERMS,
    microphone::TERMS,
    no_field::TERMS,
    noise::TERMS,
    pad::TERMS,
    place::TERMS,
    power::TERMS,
    stage::TERMS,
    switch::TERMS,
];
