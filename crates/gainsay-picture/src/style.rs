//! How a diagram is to look, and its style sheets.

use gainsay_plan::Answer;

/// Width of a diagram.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Width {
    /// For a page: the chain runs from left to right, levels from bottom to top.
    #[default]
    Wide,
    /// For a telephone, about 360 px: the chain runs from top to bottom, levels from left to right.
    Narrow,
}

/// How a diagram is to look.
#[derive(Debug, Clone, Copy)]
pub struct Style<'a> {
    /// Its width.
    pub width: Width,
    /// The answer before a change: where its levels were is drawn as a fine outline. Sources are matched by their names.
    pub before: Option<&'a Answer>,
    /// Where the loudest peak should land, in dBFS; taken from the answer where that tells it.
    pub peak_target_dbfs: f64,
    /// Most lanes that are drawn; how many more there are is said in words.
    pub most_lanes: usize,
    /// Whether the picture begins with the case's title and the first sentence of its answer.
    pub heading: bool,
    /// Whether it explains its marks.
    pub legend: bool,
    /// Begins every identifier in the markup; two different diagrams on one page need two.
    pub prefix: &'a str,
}

impl Default for Style<'_> {
    fn default() -> Self {
        Self {
            width: Width::Wide,
            before: None,
            peak_target_dbfs: -12.0,
            most_lanes: 64,
            heading: true,
            legend: true,
            prefix: "levels",
        }
    }
}

/// The colours of the diagram as CSS variables, for light, dark and print. A page that shows a diagram inline sets these
/// variables itself, or includes this text in its style sheet.
pub const COLOURS: &str = "\
:root{--paper:#fbf9f4;--ink:#1d2430;--quiet-ink:#5d6672;--rule:#d9d4c8;--signal:#1f5c7a;--signal-edge:#1f5c7a;\
--on-signal:#fbf9f4;--noise-1:#e6dfce;--noise-2:#c9bfa8;--noise-3:#a2947a;--noise-4:#6b5c42;--warning:#9a3b26}
@media (prefers-color-scheme:dark){:root{--paper:#14181e;--ink:#e9e4d8;--quiet-ink:#9aa3ae;--rule:#333a44;--signal:#7fb8d4;\
--signal-edge:#7fb8d4;--on-signal:#14181e;--noise-1:#2b2a27;--noise-2:#4a4539;--noise-3:#746a54;--noise-4:#b3a37e;\
--warning:#e08a70}}
@media print{:root{--paper:#fff;--ink:#000;--quiet-ink:#000;--rule:#bbb;--signal:#ccc;--signal-edge:#000;--on-signal:#000;\
--noise-1:#fff;--noise-2:#fff;--noise-3:#fff;--noise-4:#000;--pale-stroke:#000;--warning:#000}}
";

/// The rules of every picture, for the style sheet of a page that shows them inline: pictures in a page carry no style of their
/// own, so that the page may forbid styles in its markup.
#[must_use]
pub fn rules() -> String {
    let own = [crate::options::OWN_SHAPES, crate::patch_diagram::OWN_SHAPES, crate::windows::OWN_SHAPES];
    format!("{SHAPES}{}{}", own.concat(), crate::sheet::text_rules())
}

/// What stands behind a whole document.
pub(crate) const DOCUMENT: &str = "svg.level-diagram{background:var(--paper);max-width:100%;height:auto}\n";

/// Shapes. Texts have their rules from [`crate::sheet::Kind`].
pub(crate) const SHAPES: &str = "\
.level-diagram{font-family:'Source Sans 3',sans-serif;font-variant-numeric:tabular-nums lining-nums}
.level-diagram text{fill:var(--ink)}
.level-diagram tspan{unicode-bidi:isolate}
.level-diagram .quiet{fill:var(--quiet-ink)}
.level-diagram .warn{fill:var(--warning)}
.level-diagram .good{fill:var(--signal-edge)}
.level-diagram .on-signal{fill:var(--on-signal)}
.level-diagram .halo{paint-order:stroke;stroke:var(--paper);stroke-width:3.5px;stroke-linejoin:round}
.level-diagram .paper{fill:var(--paper)}
.level-diagram .stage{stroke:var(--rule)}
.level-diagram .axis{stroke:var(--quiet-ink);stroke-width:.8}
.level-diagram .rule{stroke:var(--rule)}
.level-diagram .leader{stroke:var(--quiet-ink);stroke-width:.7}
.level-diagram .core{fill:var(--signal)}
.level-diagram .soft{fill:var(--signal);fill-opacity:.14}
.level-diagram .edge{stroke:var(--signal-edge);stroke-width:1.6;stroke-linejoin:round}
.level-diagram .quiet-edge{stroke:var(--signal-edge);stroke-width:1.1;stroke-linejoin:round}
.level-diagram .ceiling{stroke:var(--ink);stroke-width:1.6}
.level-diagram .hatch{stroke:var(--ink);stroke-width:.8}
.level-diagram .target{stroke:var(--ink);stroke-width:1.1;stroke-dasharray:5 3}
.level-diagram .turn-up{stroke:var(--ink);stroke-width:1.1}
.level-diagram .before{stroke:var(--ink);stroke-width:.9;stroke-dasharray:1.5 2.5;stroke-linecap:round}
.level-diagram .before-ground{stroke:var(--paper);stroke-width:2.2;stroke-opacity:.55}
.level-diagram .over{stroke:var(--warning);stroke-width:2}
.level-diagram .over-fill{fill:var(--paper)}
.level-diagram .noise-1{fill:var(--noise-1)}
.level-diagram .noise-2{fill:var(--noise-2)}
.level-diagram .noise-3{fill:var(--noise-3)}
.level-diagram .noise-4{fill:var(--noise-4)}
.level-diagram .dark-stroke{fill:none;stroke:var(--noise-4);stroke-width:.7;stroke-opacity:.75}
.level-diagram .pale-stroke{fill:none;stroke:var(--pale-stroke,var(--paper));stroke-width:1.2}
.level-diagram .stratum{stroke:var(--noise-4);stroke-width:1}
.level-diagram .total{stroke:var(--noise-4);stroke-width:1.6;stroke-linejoin:round}
.level-diagram .segment{stroke:var(--noise-4);stroke-width:.8}
.level-diagram .mark-good{stroke:var(--signal-edge);stroke-width:2;stroke-linecap:round;stroke-linejoin:round}
.level-diagram .mark-tight{stroke:var(--ink);stroke-width:2;stroke-linecap:round}
.level-diagram .mark-short{stroke:var(--warning);stroke-width:2;stroke-linecap:round}
";
