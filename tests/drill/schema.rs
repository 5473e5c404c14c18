//! The part of JSON Schema that the schema of a data set is written in: enough to hold every
//! line to it, and no more.

use serde_json::Value;

/// What of `value` is not as `schema` says, each with its path; `root` resolves references.
pub(crate) fn breaches(root: &Value, schema: &Value, value: &Value, path: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (key, asked) in schema.as_object().expect("a schema is an object") {
        match key.as_str() {
            "$ref" => {
                let target = asked.as_str().unwrap().trim_start_matches('#');
                let target = root.pointer(target).expect("the reference leads somewhere");
                found.extend(breaches(root, target, value, path));
            }
            "type" if !types(asked).any(|kind| is_of(value, kind)) => {
                found.push(format!("{path}: {value} is no {asked}"));
            }
            "enum" | "const" => {
                let known = asked.as_array().cloned().unwrap_or_else(|| vec![asked.clone()]);
                if !known.contains(value) {
                    found.push(format!("{path}: {value} is none of {asked}"));
                }
            }
            "anyOf" | "oneOf" => {
                let fits = |one: &&Value| breaches(root, one, value, path).is_empty();
                let n = asked.as_array().unwrap().iter().filter(fits).count();
                if n == 0 || (key == "oneOf" && n > 1) {
                    found.push(format!("{path}: {value} fits {n} of {asked}"));
                }
            }
            "properties" => {
                for (name, inner) in asked.as_object().unwrap() {
                    if let Some(member) = value.get(name) {
                        found.extend(breaches(root, inner, member, &format!("{path}/{name}")));
                    }
                }
                // What the schema does not know is no row of it.
                for name in value.as_object().into_iter().flatten().map(|(name, _)| name) {
                    if asked.get(name).is_none() {
                        found.push(format!("{path}: `{name}` is not in the schema"));
                    }
                }
            }
            "required" => {
                for name in asked.as_array().unwrap() {
                    if value.get(name.as_str().unwrap()).is_none() {
                        found.push(format!("{path}: {name} is missing"));
                    }
                }
            }
            "items" => {
                for (at, item) in value.as_array().into_iter().flatten().enumerate() {
                    found.extend(breaches(root, asked, item, &format!("{path}/{at}")));
                }
            }
            "minimum" if value.is_number() && value.as_f64() < asked.as_f64() => {
                found.push(format!("{path}: {value} is below {asked}"));
            }
            "maximum" if value.is_number() && value.as_f64() > asked.as_f64() => {
                found.push(format!("{path}: {value} is above {asked}"));
            }
            "type" | "minimum" | "maximum" => {}
            "$schema" | "$defs" | "title" | "description" | "format" | "default" => {}
            other => panic!("the schema uses `{other}`, which is not checked here"),
        }
    }
    found
}

fn types(asked: &Value) -> impl Iterator<Item = &str> {
    let several = asked.as_array().into_iter().flatten();
    asked.as_str().into_iter().chain(several.filter_map(Value::as_str))
}

fn is_of(value: &Value, kind: &str) -> bool {
    match kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        "integer" => value.is_u64() || value.is_i64(),
        "number" => value.is_number(),
        _ => false,
    }
}

#[test]
fn a_row_that_is_not_as_the_schema_says_is_found_out() {
    let schema = serde_json::json!({
        "type": "object",
        "properties": { "n": { "type": "integer", "minimum": 0 }, "at": { "$ref": "#/$defs/at" } },
        "required": ["n"],
        "$defs": { "at": { "type": ["string", "null"] } },
    });
    let of =
        |text: &str| breaches(&schema, &schema, &serde_json::from_str(text).unwrap(), "").len();
    assert_eq!(of(r#"{"n": 1, "at": null}"#), 0);
    assert_eq!(of(r#"{"n": -1}"#), 1);
    assert_eq!(of(r#"{"n": 1.5}"#), 1);
    assert_eq!(of(r#"{"at": 3, "else": 1}"#), 3);
}
