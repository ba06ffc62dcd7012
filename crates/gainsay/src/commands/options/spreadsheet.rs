//! The plans for spreadsheets (RFC 4180): a row a plan.

use crate::exit::Failure;
use gainsay_plan::options::{OptionsAnswer, Plan};

const HEAD: [&str; 11] = [
    "list",
    "to_follow",
    "price",
    "changes",
    "verdict",
    "sources_without_input",
    "sources_short",
    "sources_tight",
    "chance_enough",
    "penalty_db",
    "proven",
];

pub(super) fn text(answer: &OptionsAnswer) -> Result<String, Failure> {
    let fail = |error: csv::Error| {
        Failure::Output(format!("the plans can't be written as CSV: {error}"), "report it".to_owned())
    };
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(HEAD).map_err(fail)?;
    let lists = [
        ("as it is", std::slice::from_ref(&answer.today)),
        ("frontier", &answer.frontier),
        ("without changes to the recording", &answer.without_changes),
        ("in reserve", &answer.reserves),
    ];
    for (list, plans) in lists {
        for (index, plan) in plans.iter().enumerate() {
            let to_follow = list == "frontier" && index == answer.recommended;
            writer.write_record(row(list, plan, to_follow, answer.proven)).map_err(fail)?;
        }
    }
    let bytes = writer.into_inner().map_err(|error| fail(error.into_error().into()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn row(list: &str, plan: &Plan, to_follow: bool, proven: bool) -> [String; 11] {
    let yes = |yes: bool| if yes { "yes" } else { "no" }.to_owned();
    [
        list.to_owned(),
        yes(to_follow),
        plan.price.to_string(),
        plan.words.join("; "),
        plan.verdict.word().to_owned(),
        plan.result.left_out.to_string(),
        plan.result.short.to_string(),
        plan.result.tight.to_string(),
        format!("{:.4}", plan.chance_enough),
        format!("{:.2}", plan.penalty_db),
        yes(proven && list == "frontier"),
    ]
}
