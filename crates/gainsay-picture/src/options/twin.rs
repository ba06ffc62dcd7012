//! The same facts in words.

use super::spots::{Role, Spot, Spots, result};
use crate::twin::plain;
use gainsay_plan::options::OptionsAnswer;

/// The facts of the picture in sentences: a line each.
#[must_use]
pub fn options_text_twin(answer: &OptionsAnswer) -> String {
    let mut lines = vec![format!("{}.", answer.title.trim_end_matches(['.', '!', '?']))];
    if let Some(question) = &answer.question {
        lines.push(format!("Asked: {question}"));
    }
    lines.push(answer.answer.join(" "));
    lines.push(String::new());
    let spots = Spots::new(answer, usize::MAX);
    lines.extend(spots.all.iter().map(of_spot));
    lines.extend(answer.budget.map(|budget| format!("Budget: {budget}.")));
    plain(&lines.join("\n"))
}

fn of_spot(spot: &Spot<'_>) -> String {
    let role = match spot.role {
        Role::AsItIs => String::new(),
        role => format!(" ({})", role.words()),
    };
    format!(
        "At a price of {}: {}{role}. Result: {}; probability that every source is enough: {}.",
        spot.plan.price,
        spot.name().replacen("As it is", "as it is", 1),
        result(spot.plan.result),
        spot.chance()
    )
}
