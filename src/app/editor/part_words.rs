//! What kinds of part, their fields and the fuels are called in the forms. In a file they keep the words of the file.

use crate::fluid::FuelClass;
use crate::language::{named, said};
use crate::plant::component::Component;

/// A kind of part.
pub fn kind_words(kind: &str) -> &'static str {
    match kind {
        "Tank" => said("kind-tank"),
        "SwirlPot" => said("kind-swirl-pot"),
        "Strainer" => said("kind-strainer"),
        "Line" => said("kind-line"),
        "Restriction" => said("kind-restriction"),
        "NonReturnValve" => said("kind-non-return-valve"),
        "ShutOffValve" => said("kind-shut-off-valve"),
        "Relief" => said("kind-relief"),
        "Filter" => said("kind-filter"),
        "SedimentBowl" => said("kind-sediment-bowl"),
        "HandPrimer" => said("kind-hand-primer"),
        "GearPump" => said("kind-gear-pump"),
        "DiaphragmPump" => said("kind-diaphragm-pump"),
        "ElectricPump" => said("kind-electric-pump"),
        "JetPump" => said("kind-jet-pump"),
        "Engine" => said("kind-engine"),
        _ => said("part"),
    }
}

/// A field of a part: that of a number by the number's words, any other by its own; one that has none as the file
/// writes it, with spaces.
pub fn field_words(kind: &str, field: &str) -> String {
    let own = match field {
        "clean" => said("field-clean"),
        "clear" => said("field-clear"),
        "command" => said("pump-when"),
        "crack" => said("field-crack"),
        "dirt" => said("field-dirt"),
        "drop" => said("field-drop"),
        "earth" => said("field-earth"),
        "feed" => said("field-feed"),
        "flap" => said("field-flap"),
        "holds_gas" => said("field-holds-gas"),
        "new" => said("field-new"),
        "nozzle" => said("field-nozzle"),
        "open" => said("field-open"),
        "overflow" => said("field-overflow"),
        "overflows_to" => said("field-overflows-to"),
        "returns_to" => said("field-returns-to"),
        "stage" => said("field-stage"),
        "tank" => said("field-tank"),
        _ => "",
    };
    if !own.is_empty() {
        return own.to_owned();
    }
    let samples = Component::samples();
    let numbers = samples.iter().filter(|c| c.kind() == kind).flat_map(Component::numbers);
    let number = numbers.into_iter().find(|n| n.field == field);
    match (number, field) {
        (Some(number), _) => named(number.words).to_owned(),
        // the relief's hose to the manifold, which is yes or no
        (None, "manifold") => said("field-manifold").to_owned(),
        (None, other) => other.replace('_', " "),
    }
}

/// A fuel.
pub fn fuel_words(class: FuelClass) -> &'static str {
    match class {
        FuelClass::Diesel => said("fuel-diesel"),
        FuelClass::WinterDiesel => said("fuel-diesel-winter"),
        FuelClass::TransitionDiesel => said("fuel-diesel-transition"),
        FuelClass::ArcticDiesel => said("fuel-diesel-arctic"),
        FuelClass::Biodiesel => said("fuel-biodiesel"),
        FuelClass::Petrol => said("fuel-petrol"),
        FuelClass::WinterPetrol => said("fuel-petrol-winter"),
        FuelClass::Paraffin => said("fuel-paraffin"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::{Language, within};

    /// Every field and kind has words of its own in German: none is the file's.
    #[test]
    fn no_field_of_a_part_is_shown_as_the_file_writes_it() {
        for part in Component::samples() {
            let kind = part.kind();
            let english = kind_words(kind);
            within(Language::German, || {
                assert!(kind_words(kind) != english || matches!(kind, "Tank" | "Filter"), "{kind}");
                let json = serde_json::to_value(&part).unwrap();
                let fields = json.as_object().and_then(|o| o.values().next()).and_then(|v| v.as_object()).unwrap();
                for field in fields.keys().filter(|f| !part.end_fields().contains(&f.as_str())) {
                    let words = field_words(kind, field);
                    assert_ne!(words, field.replace('_', " "), "{kind}.{field}");
                }
            });
        }
    }
}
