//! Faults of the tester's own kit.

use super::{Fault, Place, linear};

pub(super) const M2: Fault = Fault {
    code: "M2",
    name: "Instrument not zeroed",
    about: "The same shift in every reading, at rest too; zeroing at air pressure removes it.",
    place: Place::Kit,
    remedies: &[],
    weight_light_diesel: 20.0,
    change: |_, kit, fault| {
        // the sign follows the fraction of the severity so that both occur
        let size = linear(fault.severity, 15.0, 60.0);
        kit.offset_mbar += if (fault.severity * 10.0) as i64 % 2 == 0 { size } else { -size };
        Ok(())
    },
};

pub(super) const M4: Fault = Fault {
    code: "M4",
    name: "Tee valve part-closed",
    about: "The lever looks open but the valve isn't: a restriction that came with the kit.",
    place: Place::Kit,
    remedies: &[],
    weight_light_diesel: 10.0,
    change: |_, kit, fault| {
        kit.valve_short_of_open = kit.valve_short_of_open.max(linear(fault.severity, 0.4, 0.75));
        Ok(())
    },
};

pub(super) const M6: Fault = Fault {
    code: "M6",
    name: "Air left in the sensing hose",
    about: "Steps come soft and late, ripple is lost; purging cures it.",
    place: Place::Kit,
    remedies: &[],
    weight_light_diesel: 15.0,
    change: |_, kit, fault| {
        kit.trapped_air_ml += linear(fault.severity, 2.0, 20.0);
        Ok(())
    },
};
