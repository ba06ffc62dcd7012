//! Noise that is stated more than once: at two sources, with two weightings, or as a ratio.

use super::{Merged, base};
use crate::doubts::DoubtKind;
use crate::facts::Fact;
use crate::place::Placed;
use crate::reading::{Path, Table, Value, Why};
use crate::words;
use gainsay_units::{Quantity, Weighting};
use std::collections::{BTreeMap, BTreeSet};

impl Merged {
    /// A microphone's signal-to-noise ratio gives its noise where that is not stated, and must agree with it where it is.
    pub(super) fn ratio_to_noise(&mut self, fields: &mut BTreeMap<Path, Vec<Placed>>) {
        let from = Path { table: Table::Microphone, group: String::new(), field: "self_noise_from_ratio" };
        let Some(all) = fields.remove(&from) else { return };
        let noise = Path { field: "self_noise", ..from };
        let weighting = |one: &Placed| match &one.candidate.value {
            Value::Figure(quantity) => quantity.weighting(),
            _ => None,
        };
        for mut one in all {
            one.path = noise.clone();
            let stated = fields.get(&noise).and_then(|known| {
                known.iter().find(|k| weighting(k) == weighting(&one) || weighting(&one).is_none()).cloned()
            });
            match stated {
                Some(known) => {
                    if let (Some(a), Some(b)) = (base(&known.candidate.value), base(&one.candidate.value))
                        && (a - b).abs() > 1.0
                    {
                        self.doubt(
                            DoubtKind::Contradiction,
                            &noise,
                            one.candidate.line,
                            words::noise_and_ratio(a, b),
                        );
                    }
                }
                None if fields.contains_key(&noise) => {
                    self.set_aside(&one, Why::NoField("a second noise figure"))
                }
                None => fields.entry(noise.clone()).or_default().push(one),
            }
        }
    }

    /// A microphone's noise: the A-weighted figure where there is one; another weighting beside it must lie as far off as the
    /// weightings do.
    pub(super) fn self_noise(&mut self, path: &Path, all: Vec<Placed>) {
        let weighting = |one: &Placed| match &one.candidate.value {
            Value::Figure(quantity) => quantity.weighting(),
            _ => None,
        };
        let (mut main, mut others): (Vec<Placed>, Vec<Placed>) =
            all.into_iter().partition(|one| weighting(one) == Some(Weighting::A));
        if main.is_empty() {
            std::mem::swap(&mut main, &mut others);
        }
        let level = main.first().and_then(|one| base(&one.candidate.value));
        for one in &others {
            if let (Some(a), Some(b), Some(of)) = (level, base(&one.candidate.value), weighting(one)) {
                let white = of.of_white_noise() - Weighting::A.of_white_noise();
                // The spectrum of a microphone's noise is not white: some decibels either way are usual.
                if ((b - a) - white.db()).abs() > 9.0 {
                    self.doubt(
                        DoubtKind::Contradiction,
                        path,
                        one.candidate.line,
                        words::noises_apart(a, b, of),
                    );
                }
            }
            self.set_aside(one, Why::NoField("the same noise read with another weighting"));
        }
        let lines: BTreeSet<usize> = others.iter().map(|o| o.candidate.line).collect();
        self.doubts.retain(|d| {
            !(d.kind == DoubtKind::NoWeighting && d.line.is_some_and(|line| lines.contains(&line)))
        });
        self.single(path.clone(), main);
    }

    /// A dynamic range: the A-weighted figure where there is one, which compares with most sheets; the unweighted one beside
    /// it must be lower by what the weighting takes off white noise, and hum may lower it further.
    pub(super) fn dynamic_range(&mut self, path: Path, all: Vec<Placed>) {
        let weighting = |one: &Placed| match &one.candidate.value {
            Value::Figure(quantity) => quantity.weighting(),
            _ => None,
        };
        if !all.iter().any(|one| weighting(one) == Some(Weighting::A)) {
            self.single(path, all);
            return;
        }
        let (others, main): (Vec<Placed>, Vec<Placed>) =
            all.into_iter().partition(|one| weighting(one) == Some(Weighting::Flat));
        let level = main.first().and_then(|one| base(&one.candidate.value));
        let mut rivals = main;
        for one in others {
            let below = level.zip(base(&one.candidate.value)).map(|(a, flat)| a - flat);
            if below.is_some_and(|below| (0.0..=8.0).contains(&below)) {
                self.set_aside(&one, Why::NoField("the same dynamic range with another weighting"));
            } else {
                rivals.push(one);
            }
        }
        self.single(path, rivals);
    }

    /// Noise of an input: the first figure, and a second at another source impedance. The same source read with another
    /// weighting must agree.
    pub(super) fn noise(&mut self, path: &Path, mut all: Vec<Placed>, facts: &[Fact]) {
        if path.table == Table::Booster || all.len() < 2 {
            self.single(path.clone(), all);
            return;
        }
        let figure = |one: &Placed| match &one.candidate.value {
            Value::Figure(quantity) => Some(*quantity),
            _ => None,
        };
        let source =
            |one: &Placed| figure(one).and_then(|q| q.conditions.source_impedance).map(|ohms| ohms.ohms());
        let gain = |one: &Placed| facts.get(one.fact).and_then(|fact| fact.clause.terms.gain);
        // The field holds the noise at the highest gain.
        let most = all.iter().filter_map(gain).fold(f64::NEG_INFINITY, f64::max);
        if most.is_finite() {
            let (at_most, lower): (Vec<Placed>, Vec<Placed>) =
                all.into_iter().partition(|one| gain(one).is_none_or(|g| g > most - 0.5));
            for one in &lower {
                self.set_aside(one, Why::NoField("noise at a lower gain"));
            }
            all = at_most;
        }
        // A real source says more than a short.
        let first = all.iter().position(|one| source(one).is_some_and(|ohms| ohms > 0.0)).unwrap_or(0);
        if first >= all.len() {
            return;
        }
        let main = all.remove(first);
        let main_source = source(&main);
        let (alike, others): (Vec<Placed>, Vec<Placed>) =
            all.into_iter().partition(|one| match (source(one), main_source) {
                (Some(a), Some(b)) => (a - b).abs() < 1.0,
                _ => true,
            });
        let main_figure = figure(&main);
        let mut rivals = vec![main];
        for one in alike {
            let (Some(a), Some(b)) = (main_figure, figure(&one)) else { continue };
            if a.weighting() == b.weighting() {
                rivals.push(one);
                continue;
            }
            // White noise reads differently with each weighting, by as much as the weightings say.
            let reading = |q: &Quantity| {
                q.unit.to_base(q.number) - q.weighting().unwrap_or(Weighting::Flat).of_white_noise().db()
            };
            let apart = reading(&a) - reading(&b);
            if apart.abs() > 2.5 {
                self.doubt(
                    DoubtKind::Contradiction,
                    path,
                    one.candidate.line,
                    words::weightings_apart(&a, &b, apart),
                );
            }
            self.set_aside(&one, Why::NoField("the same noise read with another weighting"));
        }
        self.single(path.clone(), rivals);
        let second = Path { field: "ein_second", ..path.clone() };
        let mut others = others.into_iter();
        if let Some(mut one) = others.next() {
            one.path = second.clone();
            self.single(second, vec![one]);
        }
        for one in others {
            self.set_aside(&one, Why::NoField("a third noise figure"));
        }
    }
}
