//! The margins of a wide lane: the scale of the air, the scale of the file, the levels with their leaders, and the shares.

use crate::figures;
use crate::labels::spread;
use crate::noise;
use crate::scale::{Frame, coordinate, ticks};
use crate::sheet::{Anchor, Kind, Sheet, Text};
use crate::track::Track;
use gainsay_plan::LevelAnswer;
use gainsay_plan::words::number;

/// Left edge of the labels of levels.
pub(crate) const LEVELS: f64 = 842.0;
/// The bar of shares.
pub(crate) const BAR: (f64, f64) = (1010.0, 1028.0);
/// Left edge of the labels of shares.
pub(crate) const SHARES: f64 = 1050.0;

/// What the margin needs to know.
pub(crate) struct Margin<'a> {
    pub(crate) frame: &'a Frame,
    pub(crate) track: &'a Track,
    pub(crate) result: &'a LevelAnswer,
    /// dBFS.
    pub(crate) target: f64,
    pub(crate) before: Option<&'a LevelAnswer>,
    pub(crate) compact: bool,
    pub(crate) prefix: &'a str,
}

/// A label with one or two rows, at a level in dBu.
struct Label {
    level: f64,
    head: String,
    detail: Option<String>,
    kind: Kind,
    class: &'static str,
}

impl Margin<'_> {
    /// The scale of the air, or in dBu where there is none.
    pub(crate) fn air_scale(&self, sheet: &mut Sheet) {
        let frame = self.frame;
        let (left, range) = (frame.x.0, frame.range);
        let zero = self.track.air.unwrap_or(0.0);
        let lowest = if self.track.air.is_some() { (range.low - zero).max(0.0) } else { range.low };
        let mut path = String::new();
        for tick in ticks(lowest, range.high - zero, self.step()) {
            let y = frame.level(tick + zero);
            path.push_str(&format!("M{} {}h-4", coordinate(left), coordinate(y)));
            let text = number(tick, 0);
            sheet.text(Text::new(Kind::Tick, left - 7.0, y + 3.8, Anchor::End, &text).class("quiet"));
        }
        sheet.path("axis", &path);
        if self.track.air.is_none() {
            let y = frame.y.0 - 8.0;
            sheet.text_where_free(&[Text::new(Kind::Tick, left - 7.0, y, Anchor::End, "dBu").class("quiet")]);
        }
    }

    /// dB from tick to tick.
    const fn step(&self) -> f64 {
        if self.compact { 40.0 } else { 20.0 }
    }

    /// The scale of the file, and the levels with leaders to where they are.
    pub(crate) fn file_scale(&self, sheet: &mut Sheet) {
        let frame = self.frame;
        let right = frame.x.1;
        let labels = self.labels();
        let zero = self.track.full_scale;
        let mut path = String::new();
        for tick in ticks(frame.range.low - zero, (frame.range.high - zero).min(0.0), self.step()) {
            let y = frame.level(tick + zero);
            path.push_str(&format!("M{} {}h4", coordinate(right), coordinate(y)));
            // A leader takes the place of a figure, but not of full scale.
            let taken = labels.iter().any(|label| (frame.level(label.level) - y).abs() < 7.0);
            if !taken {
                let text = number(tick, 0);
                sheet.text(Text::new(Kind::Tick, right + 36.0, y + 3.8, Anchor::End, &text).class("quiet"));
            }
        }
        sheet.path("axis", &path);
        self.level_labels(sheet, &labels);
    }

    fn labels(&self) -> Vec<Label> {
        let (track, result) = (self.track, self.result);
        let detail = |estimate| if self.compact { None } else { figures::from_to(estimate) };
        let file = |dbfs: f64| dbfs + track.full_scale;
        let noise = track.points.last().map_or(f64::NAN, crate::track::Point::total);
        let mut labels = vec![
            Label {
                level: file(result.peak_dbfs.median),
                head: format!("peak {}", figures::median(&result.peak_dbfs, "dBFS")),
                detail: detail(&result.peak_dbfs),
                kind: Kind::Figure,
                class: "",
            },
            Label {
                level: file(result.quiet_dbfs.median),
                head: format!("quietest {}", figures::median(&result.quiet_dbfs, "dBFS")),
                detail: detail(&result.quiet_dbfs),
                kind: Kind::Figure,
                class: "",
            },
            Label {
                level: noise,
                head: format!("noise {}", figures::median(&result.noise_dbfs_a, "dBFS(A)")),
                detail: detail(&result.noise_dbfs_a),
                kind: Kind::Figure,
                class: "",
            },
        ];
        if (result.peak_dbfs.median - self.target).abs() >= 3.0 {
            labels.push(Label {
                level: file(self.target),
                head: format!("target {}", figures::level(self.target, "dBFS")),
                detail: None,
                kind: Kind::Small,
                class: "",
            });
        }
        if let Some(before) = self.before {
            for (word, estimate) in [("peak", &before.peak_dbfs), ("noise", &before.noise_dbfs_a)] {
                labels.push(Label {
                    level: file(estimate.median),
                    head: format!("before: {word} {}", number(estimate.median, 0)),
                    detail: None,
                    kind: Kind::Small,
                    class: "quiet",
                });
            }
        }
        labels.sort_by(|a, b| b.level.total_cmp(&a.level));
        labels
    }

    fn level_labels(&self, sheet: &mut Sheet, labels: &[Label]) {
        let frame = self.frame;
        let wanted: Vec<(f64, f64)> = labels
            .iter()
            .map(|label| (frame.level(label.level), if label.detail.is_some() { 30.0 } else { 16.0 }))
            .collect();
        let centres = spread(&wanted, frame.y.0 - 8.0, frame.y.1 + 14.0);
        for ((label, (y, _)), centre) in labels.iter().zip(&wanted).zip(centres) {
            let rows = if label.detail.is_some() { 14.0 } else { 0.0 };
            let baseline = centre - rows / 2.0 + 4.3;
            // The leader meets the first row.
            let head = coordinate(baseline - 4.3);
            let (from, y) = (coordinate(frame.x.1), coordinate(*y));
            let (bend, to) = (coordinate(frame.x.1 + 38.0), coordinate(LEVELS - 14.0));
            sheet.path("leader", &format!("M{from} {y}H{bend}L{to} {head}H{}", coordinate(LEVELS - 5.0)));
            let most = BAR.0 - LEVELS - 6.0;
            let text = |kind, y, content| Text::new(kind, LEVELS, y, Anchor::Start, content).most(most);
            sheet.text(text(label.kind, baseline, &label.head).class(label.class));
            if let Some(detail) = &label.detail {
                sheet.text(text(Kind::Tiny, baseline + 14.0, detail).class("quiet"));
            }
        }
    }

    /// Where the peak should land, and what brings it there.
    pub(crate) fn target(&self, sheet: &mut Sheet) {
        let (frame, track) = (self.frame, self.track);
        let level = self.target + track.full_scale;
        let from = frame.columns.position(crate::columns::Column::Converter);
        sheet.path("target", &frame.line(&[(from, level), (1.0, level)]));
        let (y, peak) = (frame.level(level), frame.level(self.result.peak_dbfs.median + track.full_scale));
        let turn_up = self.result.turn_up_afterwards_db;
        if turn_up < 2.5 || peak - y < 9.0 {
            return;
        }
        let x = coordinate(frame.x.1 - 10.0);
        let (y0, y1) = (coordinate(peak - 2.0), coordinate(y + 2.0));
        sheet.path("turn-up", &format!("M{x} {y0}V{y1}m-3.5 5l3.5-5l3.5 5"));
        if peak - y >= 22.0 {
            let words = format!("turn up {}", figures::with_unit(&number(turn_up, 0), "dB"));
            let middle = f64::midpoint(peak, y) + 4.0;
            let text = Text::new(Kind::Tiny, frame.x.1 - 18.0, middle, Anchor::End, &words).class("halo");
            sheet.text_where_free(&[text]);
        }
    }

    /// How far the quietest passage stands above the noise.
    pub(crate) fn distance(&self, sheet: &mut Sheet) {
        let (frame, track) = (self.frame, self.track);
        let Some(file) = track.points.last() else { return };
        let (quiet, noise) = (frame.level(file.quiet.median), frame.level(file.total()));
        if noise - quiet < 24.0 {
            return;
        }
        let x = coordinate(frame.x.1 - 10.0);
        let (y0, y1) = (coordinate(quiet + 2.0), coordinate(noise - 2.0));
        sheet.path("turn-up", &format!("M{x} {y0}V{y1}m-3.5-5l3.5 5l3.5-5M{x} {y0}m-3.5 5l3.5-5l3.5 5"));
        let distance = &self.result.quiet_above_noise_db;
        let words = format!("{} above the noise", figures::median(distance, "dB"));
        let y = f64::midpoint(quiet, noise) + 4.0;
        sheet.text_where_free(&[
            Text::new(Kind::Tiny, frame.x.1 - 18.0, y, Anchor::End, &words).class("halo")
        ]);
    }

    /// The bar of shares with its labels.
    pub(crate) fn shares(&self, sheet: &mut Sheet, width: f64) {
        let (frame, track) = (self.frame, self.track);
        noise::bar(sheet, track, self.prefix, BAR, frame.y);
        let rows = noise::rows(track);
        let segments = noise::segments(track, frame.y.0, frame.y.1);
        let middle = |wanted: Option<gainsay_plan::stages::Contributor>| {
            segments
                .iter()
                .find(|(contributor, ..)| *contributor == wanted)
                .map_or(frame.y.1, |(_, from, to)| f64::midpoint(*from, *to))
        };
        let wanted: Vec<(f64, f64)> =
            rows.iter().map(|(contributor, _)| (middle(*contributor), 15.0)).collect();
        let centres = spread(&wanted, frame.y.0 - 6.0, frame.y.1 + 12.0);
        for (((_, words), (from, _)), centre) in rows.iter().zip(&wanted).zip(centres) {
            let path = format!(
                "M{} {}h4L{} {}h4",
                coordinate(BAR.1),
                coordinate(*from),
                coordinate(SHARES - 9.0),
                coordinate(centre)
            );
            sheet.path("leader", &path);
            let text = Text::new(Kind::Small, SHARES, centre + 4.2, Anchor::Start, words);
            sheet.text(text.most(width - SHARES));
        }
    }
}
