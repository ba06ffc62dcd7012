//! What the check says of every line at every place where it could begin.

mod dominance;

use super::needs::Sort;
use super::studio::{Place, Studio};
use super::{Input, LineEnd, Socket};
use crate::Verdict;
use crate::case::{Case, Source};
use crate::chain::{Chain, MissingFigure};
use crate::check::Judge;
use crate::draws::Draws;
use crate::thresholds::PENALTY_STEP;
use std::collections::HashMap;
use std::sync::Arc;

/// Draws behind each cost: enough to tell a tenth of a decibel.
const MOST_DRAWS: usize = 2_000;
/// Draws behind all costs together: a large studio has many pairs of lines and places, each of which then gets fewer.
const DRAWS_IN_ALL: usize = 200_000;
/// The fewest draws that can tell one clipping in a hundred.
const LEAST_DRAWS: usize = 128;

/// Equal inputs have one key: device, group, and what follows.
type PlaceKey = (usize, Sort, usize, Option<(usize, usize)>);

/// How many lines are asked where a preamp's output goes best.
const ASKED_ABOUT_LANDINGS: usize = 4;

/// Writes verdicts and penalty into the choices of lines that have a choice. Where a line could only go to equal inputs, it has
/// none, and weighs nothing.
///
/// A preamp's line input matters little, and much the same for whatever goes through the preamp: what it adds is the mean of a
/// few lines, and stands on the wire that leads there.
pub(super) fn weigh(case: &Case, studio: &mut Studio<'_>) -> Result<(), MissingFigure> {
    let mut scales = Scales::new(case, studio);
    let mut places_of: Vec<Vec<PlaceKey>> = vec![Vec::new(); studio.lines.len()];
    for (choice, place) in studio.allocation.choices.iter().zip(&studio.place_of) {
        if let (Some(places), Some(place)) = (places_of.get_mut(choice.line), studio.places.get(*place)) {
            let key = key(studio, place);
            if !places.contains(&key) {
                places.push(key);
            }
        }
    }
    let choosing: Vec<bool> = places_of.iter().map(|places| places.len() > 1).collect();
    let pairs = scales.pairs(studio, &choosing);
    if pairs == 0 {
        return Ok(());
    }
    let count = (DRAWS_IN_ALL / pairs).clamp(LEAST_DRAWS, MOST_DRAWS);
    scales.weigh_all(studio, &choosing, Draws { count, ..Draws::default() })
}

/// What one line comes to at one place.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Weight {
    /// Sources behind it that are short.
    pub(crate) short: u32,
    /// Sources behind it that are tight.
    pub(crate) tight: u32,
    /// What a perfect preamp would gain, in decibels, summed over its sources.
    pub(crate) penalty_db: f64,
}

impl Weight {
    /// What counts, in its order.
    fn order(&self) -> (u32, u32, u32) {
        (self.short, self.tight, steps(self.penalty_db))
    }
}

/// What has been judged already. It serves every studio with the same devices, sources and variants in the same order, however
/// many there are of each device.
pub(super) struct Scales<'a> {
    case: &'a Case,
    /// For each line, and after them each variant, the first one that is like it.
    kinds: Vec<usize>,
    known: HashMap<(usize, PlaceKey), Weight>,
    /// Whether each line is weighed with every line input behind a preamp and has the best of them; otherwise all lines have the
    /// one that is best for a few of them.
    each_landing: bool,
}

/// Scales with the draws that they weigh by.
struct Weighing<'a, 'b> {
    scales: &'b mut Scales<'a>,
    judge: Judge<'a>,
    /// The line or variant that was judged last, whose own draws serve at its other places.
    before: usize,
}

impl<'a> Scales<'a> {
    pub(super) fn new(case: &'a Case, studio: &Studio<'_>) -> Self {
        Self { case, kinds: kinds(case, studio), known: HashMap::new(), each_landing: false }
    }

    /// Weighs each line with every line input behind a preamp: what a line comes to then never gets worse where there are more
    /// line inputs.
    pub(super) fn with_each_landing(self) -> Self {
        Self { each_landing: true, ..self }
    }

    /// Learns of variants that the studio did not have before.
    pub(super) fn learn(&mut self, case: &'a Case, studio: &Studio<'_>) {
        self.kinds = kinds(case, studio);
    }

    fn kind(&self, studio: &Studio<'_>, choice: usize, line: usize) -> usize {
        let variant = studio.variant_of.get(choice).copied().flatten();
        let taken = variant.map_or(line, |variant| studio.lines.len() + variant);
        self.kinds.get(taken).copied().unwrap_or(taken)
    }

    /// How many different pairs of a line and a place there are, of the lines that choose.
    pub(super) fn pairs(&self, studio: &Studio<'_>, choosing: &[bool]) -> usize {
        let choices = studio.allocation.choices.iter().zip(&studio.place_of).enumerate();
        let mut pairs: Vec<(usize, PlaceKey)> = choices
            .filter(|(_, (choice, _))| choosing.get(choice.line) == Some(&true))
            .filter_map(|(index, (choice, place))| {
                let place = studio.places.get(*place)?;
                Some((self.kind(studio, index, choice.line), key(studio, place)))
            })
            .collect();
        pairs.sort_unstable();
        pairs.dedup();
        pairs.len()
    }

    /// Writes verdicts and penalty into the choices of the lines that choose.
    pub(super) fn weigh_all(
        &mut self,
        studio: &mut Studio<'_>,
        choosing: &[bool],
        draws: Draws,
    ) -> Result<(), MissingFigure> {
        let judge = Judge::new(self.case, crate::check::Options { draws, stage_intervals: false });
        let mut weighing = Weighing { scales: self, judge, before: usize::MAX };
        let mut choices_at: Vec<Vec<usize>> = vec![Vec::new(); studio.places.len()];
        for (index, (choice, at)) in studio.allocation.choices.iter().zip(&studio.place_of).enumerate() {
            let asked =
                studio.variant_of.get(index) == Some(&None) && choosing.get(choice.line) == Some(&true);
            if let Some(choices) = choices_at.get_mut(*at).filter(|_| asked) {
                choices.push(index);
            }
        }
        for (place, choices) in choices_at.iter().enumerate() {
            weighing.landings(studio, place, choices)?;
        }
        for index in 0..studio.allocation.choices.len() {
            let (Some(choice), Some(at)) = (studio.allocation.choices.get(index), studio.place_of.get(index))
            else {
                continue;
            };
            let Some(place) = studio.places.get(*at) else { continue };
            if choosing.get(choice.line) != Some(&true) {
                continue;
            }
            let mut theres = vec![place.clone()];
            if weighing.scales.each_landing {
                theres.extend(each_landing(place));
            }
            let weights = weighing.weigh(studio, index, choice.line, &theres)?;
            let weight = weights.iter().min_by_key(|weight| weight.order()).copied().unwrap_or_default();
            if let Some(choice) = studio.allocation.choices.get_mut(index) {
                choice.short = weight.short;
                choice.tight = weight.tight;
                choice.penalty = steps(weight.penalty_db);
            }
        }
        Ok(())
    }
}

/// What a choice comes to with a line input of one kind behind its preamp.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Landed {
    /// The device that has the line input, by its index among the owned ones.
    pub(super) device: usize,
    pub(super) short: u32,
    pub(super) tight: u32,
    pub(super) penalty: u32,
}

impl Scales<'_> {
    /// For each choice what it comes to with each kind of line input behind its preamp; nothing where there are no two kinds.
    pub(super) fn by_landing(
        &mut self,
        studio: &Studio<'_>,
        draws: Draws,
    ) -> Result<Vec<Vec<Landed>>, MissingFigure> {
        let judge = Judge::new(self.case, crate::check::Options { draws, stage_intervals: false });
        let mut weighing = Weighing { scales: self, judge, before: usize::MAX };
        let mut all = Vec::with_capacity(studio.allocation.choices.len());
        for (index, (choice, at)) in studio.allocation.choices.iter().zip(&studio.place_of).enumerate() {
            let Some(place) = studio.places.get(*at) else { continue };
            let kind = |(at, group): (usize, usize)| (studio.owned_index(at), group);
            let mut kinds: Vec<((usize, usize), Place)> = Vec::new();
            for (_, into) in &place.landings {
                let of = kind((into.0, into.1));
                if !kinds.iter().any(|(other, _)| *other == of) {
                    kinds.push((of, Place { into: Some(into.clone()), ..place.clone() }));
                }
            }
            let mut landed = Vec::new();
            if kinds.len() > 1 {
                let (of, theres): (Vec<_>, Vec<Place>) = kinds.into_iter().unzip();
                let weights = weighing.weigh(studio, index, choice.line, &theres)?;
                landed.extend(of.iter().zip(weights).map(|((device, _), weight)| Landed {
                    device: *device,
                    short: weight.short,
                    tight: weight.tight,
                    penalty: steps(weight.penalty_db),
                }));
            }
            all.push(landed);
        }
        Ok(all)
    }
}

/// A penalty in whole steps; nobody needs to tell a thousand decibels from more.
fn steps(penalty_db: f64) -> u32 {
    (penalty_db / PENALTY_STEP.db()).round().clamp(0.0, 1e4) as u32
}

impl Weighing<'_, '_> {
    /// What the sources of a choice come to at places that differ in nothing but the line input behind a preamp.
    fn weigh(
        &mut self,
        studio: &Studio<'_>,
        choice: usize,
        line: usize,
        places: &[Place],
    ) -> Result<Vec<Weight>, MissingFigure> {
        let kind = self.scales.kind(studio, choice, line);
        let keys: Vec<PlaceKey> = places.iter().map(|place| key(studio, place)).collect();
        let known = |scales: &Scales<'_>| -> Option<Vec<Weight>> {
            keys.iter().map(|key| scales.known.get(&(kind, *key)).copied()).collect()
        };
        if let Some(known) = known(self.scales) {
            return Ok(known);
        }
        if kind != self.before {
            self.judge.forget_source();
            self.before = kind;
        }
        let landings: Vec<LineEnd> = places.iter().filter_map(|place| line_end(studio, place)).collect();
        debug_assert!(
            landings.len() == places.len() || landings.is_empty() && places.len() == 1,
            "preamps alike"
        );
        let mut weights = vec![Weight::default(); places.len()];
        let input = places.first().and_then(|place| input(studio, place));
        for source in studio.sources_of(choice, line) {
            let Some(input) = &input else { continue };
            let chain = Chain::new(self.scales.case, source, input)?;
            let all = match landings.is_empty() {
                true => vec![self.judge.suitability(&chain)],
                false => self.judge.suitabilities(chain, &landings)?,
            };
            for (weight, (verdict, penalty)) in weights.iter_mut().zip(all) {
                match verdict {
                    Verdict::Enough => {}
                    Verdict::Tight => weight.tight += 1,
                    Verdict::Short => weight.short += 1,
                }
                weight.penalty_db += penalty.db();
            }
        }
        self.scales.known.extend(keys.into_iter().map(|key| (kind, key)).zip(weights.iter().copied()));
        Ok(weights)
    }

    /// Finds the best line input behind a preamp and what the others add, by a few of the lines that could go through it.
    fn landings(
        &mut self,
        studio: &mut Studio<'_>,
        place: usize,
        choices: &[usize],
    ) -> Result<(), MissingFigure> {
        let Some(preamp) = studio.places.get(place).filter(|place| place.landings.len() > 1).cloned() else {
            return Ok(());
        };
        let apart = choices.len().div_ceil(ASKED_ABOUT_LANDINGS).max(1);
        let asked: Vec<(usize, usize)> = choices
            .iter()
            .step_by(apart)
            .filter_map(|choice| Some((*choice, studio.allocation.choices.get(*choice)?.line)))
            .collect();
        if asked.is_empty() {
            return Ok(());
        }
        let theres: Vec<Place> = each_landing(&preamp).collect();
        let mut means = vec![0.0; theres.len()];
        for (choice, line) in &asked {
            for (mean, weight) in means.iter_mut().zip(self.weigh(studio, *choice, *line, &theres)?) {
                *mean += weight.penalty_db / asked.len() as f64;
            }
        }
        let least = means.iter().copied().fold(f64::INFINITY, f64::min);
        let best = means.iter().position(|mean| *mean <= least).unwrap_or(0);
        for ((wire, _), mean) in preamp.landings.iter().zip(&means) {
            if let Some(wire) = studio.allocation.wires.get_mut(*wire) {
                wire.penalty = steps(mean - least);
            }
        }
        if let (Some(place), Some((_, into))) = (studio.places.get_mut(place), preamp.landings.get(best)) {
            place.into = Some(into.clone());
        }
        Ok(())
    }
}

fn key(studio: &Studio<'_>, place: &Place) -> PlaceKey {
    let device = |at: usize| studio.device_index(at);
    (
        device(place.at),
        place.sort,
        place.group,
        place.into.as_ref().map(|(at, group, _)| (device(*at), *group)),
    )
}

/// For each line, and after them each variant, the first one whose sources differ from its own in nothing but name and remarks.
fn kinds(case: &Case, studio: &Studio<'_>) -> Vec<usize> {
    let bare = |source: &Source| Source {
        name: String::new(),
        note: None,
        turns: None,
        pair: None,
        together: None,
        pin: None,
        colour: false,
        dispensable: false,
        ..source.clone()
    };
    let of_line =
        |line: &Vec<usize>| line.iter().filter_map(|index| case.sources.get(*index)).map(bare).collect();
    let of_variants = studio.variants().iter().map(|variant| variant.sources.iter().map(bare).collect());
    let bared: Vec<Vec<Source>> = studio.lines.iter().map(of_line).chain(of_variants).collect();
    // Only those are compared that have the same kinds, microphones and boosters.
    let mut alike: HashMap<Vec<[Option<&str>; 3]>, Vec<usize>> = HashMap::new();
    let mut first_like = Vec::with_capacity(bared.len());
    for (index, own) in bared.iter().enumerate() {
        let names = own.iter().map(|source| {
            let booster = source.booster.as_ref().map(|booster| booster.name.as_str());
            [Some(source.kind.name.as_str()), source.microphone().map(|m| m.name.as_str()), booster]
        });
        let before = alike.entry(names.collect()).or_default();
        let known = before.iter().copied().find(|other| bared.get(*other) == Some(own));
        if known.is_none() {
            before.push(index);
        }
        first_like.push(known.unwrap_or(index));
    }
    first_like
}

/// A place's first input, as far as a chain goes through it.
pub(super) fn input(studio: &Studio<'_>, place: &Place) -> Option<Input> {
    let unit = studio.boxes.get(place.at)?;
    let front_end = studio.front_end(place.at)?;
    let socket = match place.sort {
        Sort::Microphone => {
            let mut group = front_end.microphone_inputs.get(place.group)?.clone();
            // What goes on through an insert has the send's output.
            let send = front_end.line_outputs.iter().find(|outputs| outputs.insert == Some(true));
            if let (Some(send), Some(_)) = (send, &place.into) {
                group.maximum_output = group.maximum_output.or_else(|| send.maximum_output.clone());
                group.output_impedance = group.output_impedance.or_else(|| send.output_impedance.clone());
                group.output_connector = group.output_connector.or(send.connector);
            }
            Socket::Microphone(Arc::new(group))
        }
        Sort::Line => Socket::Line(Arc::new(front_end.line_inputs.get(place.group)?.clone())),
    };
    let line = match &place.into {
        None => None,
        Some(_) => Some(line_end(studio, place)?),
    };
    Some(Input {
        device: Arc::clone(&unit.device),
        copy: unit.copy,
        at: place.at,
        number: place.numbers.start,
        socket,
        line,
        hops: Vec::new(),
    })
}

/// The line input behind a preamp at a place, if there is one.
fn line_end(studio: &Studio<'_>, place: &Place) -> Option<LineEnd> {
    let (at, group, numbers) = place.into.as_ref()?;
    Some(LineEnd {
        device: Arc::clone(&studio.boxes.get(*at)?.device),
        at: *at,
        inputs: Arc::new(studio.front_end(*at)?.line_inputs.get(*group)?.clone()),
        number: numbers.start,
    })
}

/// A place with each line input that could be behind its preamp.
fn each_landing(place: &Place) -> impl Iterator<Item = Place> {
    place.landings.iter().map(|(_, into)| Place {
        into: Some(into.clone()),
        landings: Vec::new(),
        numbers: place.numbers.clone(),
        ..*place
    })
}
