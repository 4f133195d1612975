//! JSON Schema, as much of it as the schemas of this program use.

use serde_json::Value;

/// Checks `value` against the part of JSON Schema (draft 2020-12) that the
/// schema uses, and refuses a keyword it does not know, so that nothing goes
/// unchecked. The CI also runs the reference implementation for Python.
pub(crate) fn check(schema: &Value, value: &Value, at: &str, wrong: &mut Vec<String>) {
    part(schema, schema, value, at, wrong);
}

/// As [`check`], for a part of the schema `root`.
fn part(root: &Value, schema: &Value, value: &Value, at: &str, wrong: &mut Vec<String>) {
    for (keyword, rule) in schema.as_object().unwrap() {
        let holds = match keyword.as_str() {
            "$schema" | "$id" | "$defs" | "title" | "description" | "properties" | "items" => true,
            "$ref" => {
                let target = root.pointer(rule.as_str().unwrap().trim_start_matches('#')).unwrap();
                part(root, target, value, at, wrong);
                true
            }
            "type" => match rule.as_array() {
                Some(names) => names.iter().any(|name| is_type(value, name.as_str().unwrap())),
                None => is_type(value, rule.as_str().unwrap()),
            },
            "const" => value == rule,
            "enum" => rule.as_array().unwrap().contains(value),
            "anyOf" => rule.as_array().unwrap().iter().any(|s| {
                let mut wrong = Vec::new();
                part(root, s, value, at, &mut wrong);
                wrong.is_empty()
            }),
            "required" => rule.as_array().unwrap().iter().all(|key| value.get(key.as_str().unwrap()).is_some()),
            "additionalProperties" => no_more_than(value, &schema["properties"]),
            "minimum" => value.as_f64().is_none_or(|v| v >= rule.as_f64().unwrap()),
            "exclusiveMinimum" => value.as_f64().is_none_or(|v| v > rule.as_f64().unwrap()),
            "maximum" => value.as_f64().is_none_or(|v| v <= rule.as_f64().unwrap()),
            "minItems" => value.as_array().is_none_or(|a| a.len() as u64 >= rule.as_u64().unwrap()),
            "maxItems" => value.as_array().is_none_or(|a| a.len() as u64 <= rule.as_u64().unwrap()),
            "pattern" => value.as_str().is_none_or(is_bank),
            unknown => panic!("the schema uses `{unknown}`, which this test does not check"),
        };
        if !holds {
            wrong.push(format!("{at}: {keyword} {rule} does not hold for {value}"));
        }
    }
    if let (Some(properties), Some(object)) = (schema.get("properties"), value.as_object()) {
        for (key, inner) in object {
            if let Some(schema) = properties.get(key) {
                part(root, schema, inner, &format!("{at}/{key}"), wrong);
            }
        }
    }
    if let (Some(schema), Some(array)) = (schema.get("items"), value.as_array()) {
        for (i, inner) in array.iter().enumerate() {
            part(root, schema, inner, &format!("{at}/{i}"), wrong);
        }
    }
}

fn is_type(value: &Value, name: &str) -> bool {
    match name {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_u64() || value.is_i64(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        other => panic!("type `{other}` is not checked"),
    }
}

fn no_more_than(value: &Value, properties: &Value) -> bool {
    value.as_object().is_none_or(|object| object.keys().all(|key| properties.get(key).is_some()))
}

/// The schema's only pattern.
fn is_bank(text: &str) -> bool {
    let number = |rest: &str| !rest.is_empty() && rest.chars().all(|c| c.is_ascii_digit());
    text == "edge" || ["cutout-", "island-"].iter().any(|p| text.strip_prefix(p).is_some_and(number))
}
