#![cfg(test)]
//! How far signals lie apart in time: against closed forms, and against the spectrum of two impulses.

#![allow(clippy::disallowed_methods, reason = "the check must not lean on the mathematics of what it checks")]

use gainsay_plan::patch::alignment::{Alignment, Delay, Track, align};
use gainsay_units::sound::{delay_over, distance_of, duration, first_notch, samples_in, speed_of_sound};
use gainsay_units::{Figure, Hertz, Kelvin, Metres, Origin, Quantity, Samples, Seconds};

fn near(what: &str, got: f64, want: f64, allowed: f64) {
    let off = got - want;
    assert!(off.abs() <= allowed, "{what}: {got}, wanted {want}, off by {off}");
}

fn delay(name: &str, latency: f64, doubt: f64) -> Delay {
    Delay {
        name: name.to_owned(),
        latency: Samples::new(latency),
        below: Samples::new(doubt),
        above: Samples::new(doubt),
    }
}

fn track(source: &str, group: Option<&str>, delays: &[Delay]) -> Track {
    Track { source: source.to_owned(), group: group.map(str::to_owned), delays: delays.to_vec() }
}

fn at_48(tracks: &[Track]) -> Alignment {
    align(tracks, Hertz::new(48_000.0), Kelvin::ROOM)
}

// ISO 9613-1:1993 gives 343.2 m/s at 20 °C. Handbook values for dry air (CRC Handbook of Chemistry and Physics, from memory):
// 331.5 m/s at 0 °C, 337.5 at 10 °C, 349.3 at 30 °C.
#[test]
fn speed_of_sound_as_in_the_handbooks() {
    for (celsius, want, allowed) in
        [(20.0, 343.2, 1e-9), (0.0, 331.5, 0.3), (10.0, 337.5, 0.3), (30.0, 349.3, 0.3)]
    {
        let got = speed_of_sound(Kelvin::from_celsius(celsius)).metres_per_second();
        near(&format!("speed at {celsius} °C"), got, want, allowed);
        // 331.3·√(T/273.15), the usual closed form (common practice, no source).
        let closed = 331.3 * ((celsius + 273.15_f64) / 273.15).sqrt();
        near(&format!("speed at {celsius} °C by the closed form"), got, closed, 0.05);
    }
    near("speed at absolute zero", speed_of_sound(Kelvin::new(-1.0)).metres_per_second(), 0.0, 0.0);
}

// Common practice, no source: a millisecond is about a foot (0.305 m), and a metre about three milliseconds.
#[test]
fn distances_and_times() {
    near("a millisecond in metres", distance_of(Seconds::new(0.001), Kelvin::ROOM).metres(), 0.3432, 1e-12);
    near("a metre in ms", 1e3 * delay_over(Metres::new(1.0), Kelvin::ROOM).seconds(), 2.914, 5e-4);
    near("48 samples at 48 kHz", duration(Samples::new(48.0), Hertz::new(48_000.0)).seconds(), 0.001, 1e-15);
    near("5 ms at 96 kHz", samples_in(Seconds::new(0.005), Hertz::new(96_000.0)).samples(), 480.0, 1e-9);
    near("notch of 1 ms", first_notch(Seconds::new(0.001)).hertz(), 500.0, 1e-9);
    near("notch of −1 ms", first_notch(Seconds::new(-0.001)).hertz(), 500.0, 1e-9);
    assert!(first_notch(Seconds::new(0.0)).hertz().is_infinite());
}

/// The frequency of the first minimum of the magnitude of a signal's spectrum, by a plain DFT at equal steps.
fn first_minimum(signal: &[f64], rate: f64, step: f64) -> f64 {
    let magnitude = |frequency: f64| -> f64 {
        let (mut re, mut im) = (0.0, 0.0);
        for (n, x) in signal.iter().enumerate() {
            let angle = -2.0 * std::f64::consts::PI * frequency * n as f64 / rate;
            re += x * angle.cos();
            im += x * angle.sin();
        }
        re.hypot(im)
    };
    let mut k = 1.0;
    loop {
        let here = magnitude(k * step);
        if here < magnitude((k - 1.0) * step) && here <= magnitude((k + 1.0) * step) {
            return k * step;
        }
        k += 1.0;
        assert!(k * step < rate, "no minimum below the sample rate");
    }
}

#[test]
fn first_notch_against_the_spectrum_of_two_impulses() {
    for rate in [44_100.0, 48_000.0, 96_000.0, 192_000.0] {
        for apart in [1, 3, 17, 64, 200] {
            let mut signal = vec![0.0; apart + 11];
            signal[5] = 1.0;
            signal[5 + apart] += 1.0;
            let notch = rate / (2.0 * apart as f64);
            let step = notch / 97.3;
            let want = first_minimum(&signal, rate, step);
            let tracks = [
                track("near", Some("drum"), &[delay("a", 5.0, 0.0)]),
                track("far", Some("drum"), &[delay("b", 5.0 + apart as f64, 0.0)]),
            ];
            let alignment = align(&tracks, Hertz::new(rate), Kelvin::ROOM);
            let offset = &alignment.offsets[0];
            near(&format!("notch of {apart} samples at {rate} Hz"), offset.first_notch.hertz(), want, step);
            near("lowest notch, without doubt", offset.lowest_notch.hertz(), offset.first_notch.hertz(), 0.0);
        }
    }
}

// Moved by what the answer says, impulses of all tracks stand in one sample.
#[test]
fn moved_tracks_line_up() {
    let latencies = [140.0, 32.0, 75.0, 32.0, 1_008.0];
    let tracks: Vec<Track> = latencies
        .iter()
        .enumerate()
        .map(|(n, latency)| {
            track(&format!("track {n}"), None, &[delay(&format!("way of {latency}"), *latency, 0.0)])
        })
        .collect();
    let alignment = at_48(&tracks);
    let at: Vec<f64> = latencies
        .iter()
        .zip(&alignment.moves)
        .map(|(latency, step)| latency - step.earlier_by as f64)
        .collect();
    assert_eq!(at, [32.0; 5], "{:?}", alignment.moves);
    assert_eq!(alignment.moves.iter().map(|step| step.track).collect::<Vec<_>>(), [0, 1, 2, 3, 4]);
    // Four ways, six pairs; the two tracks on one way are no pair.
    assert_eq!((alignment.paths.len(), alignment.offsets.len()), (4, 6));
    assert_eq!(alignment.paths[1].tracks, [1, 3]);
    assert!(alignment.is_needed());
    assert!(alignment.moves.iter().all(|step| step.off_by_at_most.samples() == 0.0));
}

// By hand: an interface of 30 ± 4 samples, and a converter of 35 ± 20 samples ahead of its optical input of 6 ± 1. What both
// share cancels: 35 + 6 − 30 = 11, from 11 − (20 + 1 + 4) = −14 to 11 + 25 = 36 samples.
#[test]
fn offsets_and_their_doubt() {
    let shared = delay("computer", 250.0, 100.0);
    let own = [delay("interface, analogue inputs", 30.0, 4.0), shared.clone()];
    let far = [delay("converter", 35.0, 20.0), delay("optical input", 6.0, 1.0), shared];
    let tracks = [
        track("snare above", Some("snare"), &own),
        track("bass", None, &far),
        track("snare below", Some("snare"), &far),
    ];
    let alignment = at_48(&tracks);
    let [offset] = alignment.offsets.as_slice() else { panic!("one pair of paths: {alignment:?}") };
    assert_eq!((offset.earlier, offset.later), (0, 1));
    near("offset", offset.samples.samples(), 11.0, 1e-12);
    near("least", offset.least.samples(), -14.0, 1e-12);
    near("most", offset.most.samples(), 36.0, 1e-12);
    near("time in ms", 1e3 * offset.time.seconds(), 11.0 / 48.0, 1e-12);
    near("first notch", offset.first_notch.hertz(), 48_000.0 / 22.0, 1e-9);
    near("lowest notch", offset.lowest_notch.hertz(), 48_000.0 / 72.0, 1e-9);
    near("distance in cm", 100.0 * offset.distance.metres(), 11.0 / 48_000.0 * 34_320.0, 1e-9);
    assert_eq!(offset.groups, ["snare"]);
    assert!(offset.is_comb_filter());
    let moves: Vec<u64> = alignment.moves.iter().map(|step| step.earlier_by).collect();
    assert_eq!(moves, [0, 11, 11]);
    near("doubt after the move", alignment.moves[1].off_by_at_most.samples(), 25.0, 1e-12);

    // The same the other way round.
    let turned: Vec<Track> = tracks.iter().rev().cloned().collect();
    let alignment = at_48(&turned);
    let other = &alignment.offsets[0];
    assert_eq!((other.earlier, other.later), (1, 0));
    for (what, got, want) in [
        ("offset", other.samples, offset.samples),
        ("least", other.least, offset.least),
        ("most", other.most, offset.most),
    ] {
        near(what, got.samples(), want.samples(), 1e-12);
    }
    // Different instruments: only bleed is moved.
    let alignment = at_48(&tracks[..2]);
    assert!(!alignment.offsets[0].is_comb_filter() && alignment.is_needed());
    // All on one way: nothing to do.
    let alignment = at_48(&tracks[1..]);
    assert!(alignment.offsets.is_empty() && !alignment.is_needed());
    assert_eq!(at_48(&[]), Alignment::default());
}

// Half samples are rounded, and what is left is said.
#[test]
fn rounding_is_counted() {
    let tracks = [track("a", None, &[]), track("b", None, &[delay("b", 10.3, 0.0)])];
    let alignment = at_48(&tracks);
    assert_eq!(alignment.moves[1].earlier_by, 10);
    near("left over", alignment.moves[1].off_by_at_most.samples(), 0.3, 1e-9);
}

// JCGM 100:2008, 4.3.7: a tolerance without a confidence is rectangular; its central 95 % are 0.95 of it.
#[test]
fn from_a_figure() {
    let quantity: Quantity = "35 samples ± 20 samples".parse().unwrap();
    let figure: Figure<Samples> = Figure::from_quantity(&quantity, Origin::Sheet).unwrap();
    let delay = Delay::of("converter", &figure);
    near("estimate", delay.latency.samples(), 35.0, 1e-12);
    near("below", delay.below.samples(), 19.0, 1e-12);
    near("above", delay.above.samples(), 19.0, 1e-12);
}
