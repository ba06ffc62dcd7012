//! What the check says of every line at every place where it could begin.

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

/// Writes verdict and penalty into the choices of lines that have a choice. Where a line could only go to equal inputs, it has
/// none, and weighs nothing.
///
/// A preamp's line input matters little, and much the same for whatever goes through the preamp: what it adds is the mean of a
/// few lines, and stands on the wire that leads there.
pub(super) fn weigh(case: &Case, studio: &mut Studio<'_>) -> Result<(), MissingFigure> {
    let kinds = kinds_of_lines(case, studio);
    let keys: Vec<PlaceKey> = studio.places.iter().map(|place| key(studio, place)).collect();
    // The places of each line, equal ones once.
    let mut places_of: Vec<Vec<(PlaceKey, usize)>> = vec![Vec::new(); studio.lines.len()];
    for (choice, place) in studio.allocation.choices.iter().zip(&studio.place_of) {
        if let (Some(places), Some(key)) = (places_of.get_mut(choice.line), keys.get(*place))
            && !places.iter().any(|(known, _)| known == key)
        {
            places.push((*key, *place));
        }
    }
    let choosing: Vec<usize> =
        places_of.iter().enumerate().filter(|(_, places)| places.len() > 1).map(|(line, _)| line).collect();
    let pairs: usize = choosing.iter().filter_map(|line| places_of.get(*line)).map(Vec::len).sum();
    if pairs == 0 {
        return Ok(());
    }
    let count = (DRAWS_IN_ALL / pairs).clamp(LEAST_DRAWS, MOST_DRAWS);
    let draws = Draws { count, ..Draws::default() };
    let judge = Judge::new(case, crate::check::Options { draws, stage_intervals: false });
    let mut scales = Scales { case, judge, kinds, known: HashMap::new(), before: usize::MAX };
    let mut lines_at: Vec<Vec<usize>> = vec![Vec::new(); studio.places.len()];
    for (choice, at) in studio.allocation.choices.iter().zip(&studio.place_of) {
        if let Some(lines) = lines_at.get_mut(*at).filter(|_| choosing.contains(&choice.line)) {
            lines.push(choice.line);
        }
    }
    for (place, lines) in lines_at.iter().enumerate() {
        scales.landings(studio, place, lines)?;
    }
    for index in 0..studio.allocation.choices.len() {
        let (Some(choice), Some(at)) = (studio.allocation.choices.get(index), studio.place_of.get(index))
        else {
            continue;
        };
        let line = choice.line;
        let Some(place) = studio.places.get(*at) else { continue };
        if !choosing.contains(&line) {
            continue;
        }
        let (verdict, penalty) = scales.weigh(studio, line, place)?;
        if let Some(choice) = studio.allocation.choices.get_mut(index) {
            choice.verdict = verdict;
            choice.penalty = (penalty / PENALTY_STEP.db()).round().clamp(0.0, 1e6) as u32;
        }
    }
    Ok(())
}

/// What has been judged already.
struct Scales<'a> {
    case: &'a Case,
    judge: Judge<'a>,
    /// For each line the first that is like it.
    kinds: Vec<usize>,
    known: HashMap<(usize, PlaceKey), (Verdict, f64)>,
    /// The line that was judged last, whose own draws serve at its other places.
    before: usize,
}

impl Scales<'_> {
    /// The worst verdict of a line's sources at a place, and the sum of their penalties in decibels.
    fn weigh(
        &mut self,
        studio: &Studio<'_>,
        line: usize,
        place: &Place,
    ) -> Result<(Verdict, f64), MissingFigure> {
        let kind = self.kinds.get(line).copied().unwrap_or(line);
        let key = key(studio, place);
        if let Some(known) = self.known.get(&(kind, key)) {
            return Ok(*known);
        }
        if line != self.before {
            self.judge.forget_source();
            self.before = line;
        }
        let (mut worst, mut sum) = (Verdict::Enough, 0.0);
        for source in studio.lines.get(line).into_iter().flatten() {
            let (Some(source), Some(input)) = (self.case.sources.get(*source), input(studio, place)) else {
                continue;
            };
            let (verdict, penalty) = self.judge.suitability(&Chain::new(self.case, source, &input)?);
            worst = worst.max(verdict);
            sum += penalty.db();
        }
        self.known.insert((kind, key), (worst, sum));
        Ok((worst, sum))
    }

    /// Finds the best line input behind a preamp and what the others add, by a few of the lines that could go through it.
    fn landings(
        &mut self,
        studio: &mut Studio<'_>,
        place: usize,
        lines: &[usize],
    ) -> Result<(), MissingFigure> {
        let Some(preamp) = studio.places.get(place).filter(|place| place.landings.len() > 1).cloned() else {
            return Ok(());
        };
        let apart = lines.len().div_ceil(ASKED_ABOUT_LANDINGS).max(1);
        let asked: Vec<usize> = lines.iter().copied().step_by(apart).collect();
        if asked.is_empty() {
            return Ok(());
        }
        let mut means = Vec::with_capacity(preamp.landings.len());
        for (_, into) in &preamp.landings {
            let there = Place { into: Some(into.clone()), ..preamp.clone() };
            let mut sum = 0.0;
            for line in &asked {
                sum += self.weigh(studio, *line, &there)?.1;
            }
            means.push(sum / asked.len() as f64);
        }
        let least = means.iter().copied().fold(f64::INFINITY, f64::min);
        let best = means.iter().position(|mean| *mean <= least).unwrap_or(0);
        for ((wire, _), mean) in preamp.landings.iter().zip(&means) {
            if let Some(wire) = studio.allocation.wires.get_mut(*wire) {
                wire.penalty = ((mean - least) / PENALTY_STEP.db()).round().clamp(0.0, 1e6) as u32;
            }
        }
        if let (Some(place), Some((_, into))) = (studio.places.get_mut(place), preamp.landings.get(best)) {
            place.into = Some(into.clone());
        }
        Ok(())
    }
}

fn key(studio: &Studio<'_>, place: &Place) -> PlaceKey {
    let device = |at: usize| studio.owned_index(at);
    (
        device(place.at),
        place.sort,
        place.group,
        place.into.as_ref().map(|(at, group, _)| (device(*at), *group)),
    )
}

/// For each line the first line whose sources differ from its own in nothing but name and remarks.
fn kinds_of_lines(case: &Case, studio: &Studio<'_>) -> Vec<usize> {
    let bare = |line: &Vec<usize>| -> Vec<Source> {
        line.iter()
            .filter_map(|index| case.sources.get(*index))
            .map(|source| Source {
                name: String::new(),
                note: None,
                turns: None,
                pair: None,
                together: None,
                pin: None,
                colour: false,
                ..source.clone()
            })
            .collect()
    };
    let bared: Vec<Vec<Source>> = studio.lines.iter().map(bare).collect();
    bared
        .iter()
        .enumerate()
        .map(|(line, own)| bared.iter().position(|other| other == own).unwrap_or(line))
        .collect()
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
        Some((at, group, numbers)) => Some(LineEnd {
            device: Arc::clone(&studio.boxes.get(*at)?.device),
            at: *at,
            inputs: Arc::new(studio.front_end(*at)?.line_inputs.get(*group)?.clone()),
            number: numbers.start,
        }),
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
