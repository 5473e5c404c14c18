//! The JSON Schema of a data set of drills is the one in `docs/`, made by the program itself;
//! `SLOTWISE_WRITE_PAGES=1 cargo test --all-features --test drill_schema` writes it anew.

#![cfg(feature = "schema")]
#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

#[test]
fn the_schema_of_a_data_set_is_the_one_in_docs() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/drill-dataset.schema.json");
    let schema = slotwise::report::drill::dataset_schema();
    if std::env::var_os("SLOTWISE_WRITE_PAGES").is_some() {
        std::fs::write(path, &schema).unwrap();
    }
    assert_eq!(std::fs::read_to_string(path).unwrap(), schema);
}
