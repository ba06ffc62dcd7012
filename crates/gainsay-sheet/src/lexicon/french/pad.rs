//! French words for pads.

use crate::lexicon::Term;
use crate::lexicon::atom::Atom::*;

pub(super) const TERMS: &[Term] = &[
    ("attenuateur*", &[Pad]),
    ("attenuation", &[Pad]),
    ("attenuateur commutable", &[Pad]),
    ("attenuation d entree", &[Pad, Input]),
    ("attenuateur d entree", &[Pad, Input]),
    ("pre attenuation", &[Pad]),
    ("preattenuation", &[Pad]),
    ("preattenuateur", &[Pad]),
    ("pad d attenuation", &[Pad]),
    ("affaiblisseur", &[Pad]),
    ("affaiblissement", &[Pad]),
    ("attenuation commutable", &[Pad]),
    ("avec attenuateur", &[Pad, With]),
    ("sans attenuateur", &[Pad, Without]),
    ("avec pad", &[Pad, With]),
    ("sans pad", &[Pad, Without]),
    ("pad active", &[Pad, With]),
    ("pad enclenche", &[Pad, With]),
    ("pad engage", &[Pad, With]),
    ("attenuateur active", &[Pad, With]),
    ("attenuateur enclenche", &[Pad, With]),
    ("attenuateur en service", &[Pad, With]),
    ("attenuation enclenchee", &[Pad, With]),
    ("avec attenuation", &[Pad, With]),
    ("avec l attenuateur", &[Pad, With]),
    ("attenuateur en fonction", &[Pad, With]),
    ("pad desactive", &[Pad, Without]),
    ("sans l attenuateur", &[Pad, Without]),
    ("sans attenuation", &[Pad, Without]),
    ("attenuateur hors service", &[Pad, Without]),
    ("pad hors service", &[Pad, Without]),
    ("attenuateur desactive", &[Pad, Without]),
];
