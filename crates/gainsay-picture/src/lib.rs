//! The level diagram: an answer as a picture, and the same facts in words.
//!
//! One lane a source, the stages of its chain from air to file, on one continuous axis in dBu. The microphone's sensitivity ties
//! the air to that axis, full scale ties the file to it. A band runs from the quietest passage to the loudest peak, under the
//! ceilings and above the noise, whose shares stand beside it.
//!
//! ```text
//! Answer ─ Track per source (levels in dBu) ─ Sheet (markup and the boxes of its texts) ─ SVG
//!        └ text_twin: the same facts in sentences
//! ```
//!
//! Pure computation: no files.

mod caption;
mod ceilings;
mod columns;
mod figures;
mod labels;
mod lane;
mod legend;
mod margin;
mod narrow;
mod noise;
mod options;
mod page;
mod patch_diagram;
mod scale;
mod sheet;
mod signal;
mod style;
mod track;
mod twin;
mod windows;
mod words;

pub use options::{options_frontier, options_frontier_inline, options_text_boxes, options_text_twin};
pub use page::{lane, level_diagram, level_diagram_inline, text_boxes};
pub use patch_diagram::{patch_diagram, patch_diagram_inline, patch_text_boxes, patch_text_twin};
pub use sheet::TextBox;
pub use style::{COLOURS, Style, Width, rules};
pub use twin::{source_twin, text_twin};
pub use windows::{usable_windows, usable_windows_inline, windows_text_boxes, windows_text_twin};
