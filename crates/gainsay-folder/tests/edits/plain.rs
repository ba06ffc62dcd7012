//! Comments of a file in which no string holds a hash, as all of the demo's.

/// The comments, sorted.
pub(crate) fn comments(text: &str) -> Vec<String> {
    let mut comments: Vec<String> = text
        .lines()
        .filter(|line| line.trim_start().starts_with('#'))
        .map(|line| line.trim().to_owned())
        .collect();
    comments.sort();
    comments
}

mod examples {
    use gainsay_folder::edit::{Edit, EditError, FieldPath, Value, apply, apply_all};

    fn set(path: &str, value: impl Into<Value>) -> Edit {
        Edit::Set { path: FieldPath::parse(path).unwrap(), value: value.into() }
    }

    fn remove(path: &str) -> Edit {
        Edit::Remove { path: FieldPath::parse(path).unwrap() }
    }

    const TEXT: &str = r#"# The boathouse.

title = "A"   # as they call it

[room]
noise = { value = "NR 22 ± 4", from = "measured", note = "shut" } # at night

# The fiddle.
[[source]]
name = "Fiddle"
distance = "0.5 m"  # to the bridge

# The bass.
[[source]]
name = "Bass"
keep = [
    "a", # first
    "b", # second
]

# What could be had.
[options]
budget = 700
"#;

    /// Applies, and gives the lines that went and came.
    fn changed(edit: &Edit) -> (Vec<String>, Vec<String>) {
        let after = apply(TEXT, edit).unwrap();
        let (mut gone, mut come) = (Vec::new(), Vec::new());
        for line in TEXT.lines().filter(|line| !after.lines().any(|other| other == *line)) {
            gone.push(line.to_owned());
        }
        for line in after.lines().filter(|line| !TEXT.lines().any(|other| other == *line)) {
            come.push(line.to_owned());
        }
        (gone, come)
    }

    #[test]
    fn a_value_changes_and_its_comment_stays() {
        let (gone, come) = changed(&set("source[0].distance", "0.7 m"));
        assert_eq!(gone, ["distance = \"0.5 m\"  # to the bridge"]);
        assert_eq!(come, ["distance = \"0.7 m\"  # to the bridge"]);
    }

    #[test]
    fn a_figure_keeps_its_remarks() {
        let (_, come) = changed(&set("room.noise", "NR 20"));
        assert_eq!(come, ["noise = { value = \"NR 20\", from = \"measured\", note = \"shut\" } # at night"]);
        let (_, come) = changed(&set("source[0].distance.note", "tape"));
        assert_eq!(come, ["distance = { value = \"0.5 m\", note = \"tape\" }  # to the bridge"]);
        let (_, come) = changed(&remove("room.noise.from"));
        assert_eq!(come, ["noise = { value = \"NR 22 ± 4\", note = \"shut\" } # at night"]);
    }

    #[test]
    fn entries_of_a_list_keep_their_comments() {
        let list = |words: &[&str]| Value::List(words.iter().map(|word| Value::from(*word)).collect());
        let after = apply(TEXT, &set("source[1].keep", list(&["b"]))).unwrap();
        assert!(after.contains("keep = [\n     # first\n    \"b\", # second\n]\n"), "{after}");
        let after = apply(TEXT, &set("source[1].keep", list(&["a", "x", "b", "c"]))).unwrap();
        let expected = "keep = [\n    \"a\", # first\n    \"x\",\n    \"b\", # second\n    \"c\",\n]\n";
        assert!(after.contains(expected), "{after}");
    }

    #[test]
    fn new_fields_and_tables_go_behind_the_last() {
        let after = apply(TEXT, &set("source[0].cable", "8 m")).unwrap();
        assert!(after.contains("# to the bridge\ncable = \"8 m\"\n\n# The bass."), "{after}");
        let after = apply(TEXT, &set("question", "Is it enough?")).unwrap();
        assert!(after.contains("# as they call it\nquestion = \"Is it enough?\"\n\n[room]"), "{after}");
        let after = apply(TEXT, &set("session.sample_rate", "96 kHz")).unwrap();
        assert!(
            after.contains("# at night\n\n[session]\nsample_rate = \"96 kHz\"\n\n# The fiddle."),
            "{after}"
        );
        let fields = vec![("name".to_owned(), Value::from("Voice"))];
        let add = Edit::AddTable { array: FieldPath::parse("source").unwrap(), fields };
        let after = apply(TEXT, &add).unwrap();
        assert!(after.contains("]\n\n[[source]]\nname = \"Voice\"\n\n# What could be had."), "{after}");
    }

    #[test]
    fn a_table_moves_with_the_comment_above_it() {
        let array = FieldPath::parse("source").unwrap();
        let after = apply(TEXT, &Edit::MoveTable { array, from: 1, to: 0 }).unwrap();
        let (bass, fiddle) = (after.find("# The bass.\n[[source]]"), after.find("# The fiddle.\n[[source]]"));
        assert!(bass.is_some() && fiddle.is_some() && bass < fiddle, "{after}");
    }

    #[test]
    fn what_is_removed_leaves_the_comment_above() {
        let array = FieldPath::parse("source").unwrap();
        let after = apply(TEXT, &Edit::RemoveTable { array, index: 0 }).unwrap();
        assert!(
            after.contains("# at night\n\n# The fiddle.\n\n# The bass.\n[[source]]\nname = \"Bass\""),
            "{after}"
        );
    }

    #[test]
    fn nothing_is_changed_where_nothing_is_said_anew() {
        assert_eq!(apply(TEXT, &set("source[0].distance", "0.5 m")).unwrap(), TEXT);
        assert_eq!(apply(TEXT, &set("options.budget", Value::Whole(700))).unwrap(), TEXT);
    }

    #[test]
    fn what_cannot_be_done_is_said() {
        let error = |edit: &Edit| apply(TEXT, edit).unwrap_err();
        assert_eq!(error(&set("source[2].name", "x")), EditError::TooFew { path: "source".into(), count: 2 });
        assert_eq!(error(&set("source", "x")), EditError::IsTable { path: "source".into() });
        assert_eq!(error(&set("title.x", "y")), EditError::NotTable { path: "title".into() });
        assert_eq!(
            error(&remove("room.temperature")),
            EditError::Missing { path: "room.temperature".into() }
        );
        assert_eq!(error(&set("options.budget", Value::Number(f64::INFINITY))), EditError::BadNumber);
        assert!(matches!(apply("a = ", &remove("a")), Err(EditError::NotToml { .. })));
        for path in [
            "",
            ".",
            "a.",
            "a[",
            "a[x]",
            "a[-1]",
            "a b",
            "é",
            "a[0]b",
            "[0]",
            "a[+1]",
            "a\n",
            "a[99999999999999999999]",
        ] {
            assert!(matches!(FieldPath::parse(path), Err(EditError::BadPath { .. })), "{path:?}");
        }
        let all = [set("title", "B"), remove("nothing")];
        assert!(apply_all(TEXT, &all).is_err());
    }
}
