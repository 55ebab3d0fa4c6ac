//! What each id about a recording means.

use super::{Page, Within, grown, id, shown};

/// Every page about recordings in the order of the codes.
pub(super) static PAGES: &[Page] = &[
    Page {
        id: id::RECORDING_EMPTY,
        title: "There is nothing in the file",
        why: "The file is empty, or holds nothing but blank lines. The logger probably stopped before it wrote.",
        example: shown(Within::Recording, "\n\n", "time_s,pressure_mbar_gauge\n0,-30\n1,-31\n"),
    },
    Page {
        id: id::RECORDING_NOT_TEXT,
        title: "The file isn't text in UTF-8",
        why: "A recording is a table of text: a heading, then one row a sample. A spreadsheet file or a logger's \
              own format must be exported as CSV first; text in UTF-16 must be saved as UTF-8.",
        example: grown(Within::Recording, "PK…", "time_s,pressure_mbar_gauge\n0,-30\n1,-31\n", |shown| {
            shown.replace('…', "\u{3}\u{4}\u{0}\u{1}\u{2}")
        }),
    },
    Page {
        id: id::RECORDING_NO_HEADING,
        title: "No row names its columns",
        why: "Numbers alone don't say which of them is the pressure and in which unit. The heading may stand \
              below some lines about the logger; lines that begin with # are passed over.",
        example: shown(Within::Recording, "0,-30\n1,-31\n", "time_s,pressure_mbar_gauge\n0,-30\n1,-31\n"),
    },
    Page {
        id: id::RECORDING_NO_TIME,
        title: "No column is a time",
        why: "Everything that is said about a recording is said against time, and samples needn't be equally \
              far apart. Seconds, ms, min or a clock such as 12:03:04.5 will do.",
        example: shown(
            Within::Recording,
            "sample;Pressure [kPa gauge]\n1;-9.5\n2;-9.6\n",
            "Time (s);Pressure [kPa gauge]\n0.1;-9.5\n0.2;-9.6\n",
        ),
    },
    Page {
        id: id::RECORDING_NO_PRESSURE,
        title: "No column is a pressure",
        why: "The pressure at the tee is what a recording is read for. Its heading must hold the word pressure or a \
              unit of pressure.",
        example: shown(
            Within::Recording,
            "time_s,current_A\n0,5\n1,5\n",
            "time_s,pressure_bar_gauge,current_A\n0,4.1,5\n1,4.1,5\n",
        ),
    },
    Page {
        id: id::RECORDING_NO_UNIT,
        title: "A pressure without a unit",
        why: "Nobody can tell −95 mbar from −95 kPa by looking. The unit stands in the heading or in a row below it.",
        example: shown(
            Within::Recording,
            "time_s,pressure\n0,-95\n1,-96\n",
            "time_s,pressure_mbar\n0,-95\n1,-96\n",
        ),
    },
    Page {
        id: id::RECORDING_UNKNOWN_UNIT,
        title: "A unit that isn't known",
        why: "Pressures may be in mbar, hPa, bar, kPa, Pa, MPa, psi, inHg, mmHg or inH2O; add abs when it is counted \
              against vacuum. Times may be in s, ms, µs, min or h.",
        example: shown(
            Within::Recording,
            "Time (s);Pressure (mbra)\n0;-95\n1;-96\n",
            "Time (s);Pressure (mbar)\n0;-95\n1;-96\n",
        ),
    },
    Page {
        id: id::RECORDING_NO_SAMPLES,
        title: "A heading and hardly anything under it",
        why: "At least two samples are needed to say anything, and many more to say anything useful.",
        example: shown(
            Within::Recording,
            "time_s,pressure_mbar_gauge\n0,-30\n",
            "time_s,pressure_mbar_gauge\n0,-30\n1,-31\n",
        ),
    },
    Page {
        id: id::RECORDING_TIME_BACK,
        title: "Time runs backwards in many rows",
        why: "Either two recordings stand in one file, or the rows were sorted by something else. Sorting them anew \
              could mix two runs up, so it isn't done.",
        example: shown(
            Within::Recording,
            "time_s,pressure_mbar_gauge\n0,-30\n1,-31\n0,-80\n1,-81\n",
            "time_s,pressure_mbar_gauge\n0,-30\n1,-31\n2,-80\n3,-81\n",
        ),
    },
    Page {
        id: id::RECORDING_NOT_NUMBERS,
        title: "A column that is hardly made of numbers",
        why: "More than half of the cells of a column (or a tenth of the times) can't be read as numbers. Perhaps \
              the unit stands in every cell, or the decimal sign is an unusual one.",
        example: shown(
            Within::Recording,
            "time_s,pressure_mbar_gauge\n0,-30 mbar\n1,-31 mbar\n",
            "time_s,pressure_mbar_gauge\n0,-30\n1,-31\n",
        ),
    },
    Page {
        id: id::RECORDING_LONG_ROW,
        title: "A row that doesn't end",
        why: "A row may have 256 KiB. A longer one comes from a quote that is opened and never closed, or from a file \
              that isn't a table.",
        example: grown(
            Within::Recording,
            "time_s,pressure_mbar_gauge,note\n0,-30,\"…\n",
            "time_s,pressure_mbar_gauge,note\n0,-30,\"tee fitted\"\n1,-31,\n",
            |shown| shown.replace('…', &"long\n".repeat(120_000)),
        ),
    },
    Page {
        id: id::RECORDING_COMMAS,
        title: "The comma separates cells and decimals",
        why: "Where both are commas, −9,5 falls into two cells and can't be put together again for certain.",
        example: shown(
            Within::Recording,
            "time_s,pressure_kPa_gauge\n0,1,-9,5\n0,2,-9,6\n",
            "time_s;pressure_kPa_gauge\n0,1;-9,5\n0,2;-9,6\n",
        ),
    },
    Page {
        id: id::RECORDING_NO_COLUMN,
        title: "No column has the name that was asked for",
        why: "The name after --state-column or --pressure-column must be a heading of the recording, as it stands there.",
        example: None,
    },
    Page {
        id: id::RECORDING_TOO_MANY,
        title: "More columns than can be read",
        why: "At most twelve columns of numbers beside the time are read, so that memory stays bounded.",
        example: grown(
            Within::Recording,
            "time_s,pressure_mbar_gauge…\n0,-30\n1,-31\n",
            "time_s,pressure_mbar_gauge\n0,-30\n1,-31\n",
            |shown| shown.replace('…', &",current_A".repeat(13)),
        ),
    },
    Page {
        id: id::RECORDING_UNREADABLE,
        title: "The file can't be opened or read",
        why: "There is no file of that name, or it may not be read, or the disk gave an error half-way.",
        example: None,
    },
    Page {
        id: id::RECORDING_BAD_CELLS,
        title: "Cells that are no numbers",
        why: "They are taken as gaps and counted. An empty cell, a dash or NaN is a gap without a word.",
        example: shown(
            Within::Recording,
            "time_s,pressure_mbar_gauge\n0,-30\n1,overload\n2,-31\n3,-31\n",
            "time_s,pressure_mbar_gauge\n0,-30\n1,\n2,-31\n3,-31\n",
        ),
    },
    Page {
        id: id::RECORDING_RAGGED,
        title: "Rows with more or fewer cells than the heading",
        why: "Missing cells are gaps and further ones are left out. A torn last row is common when a logger loses power.",
        example: shown(
            Within::Recording,
            "time_s,pressure_mbar_gauge,current_A\n0,-30,5\n1,-31,5\n2,-3\n",
            "time_s,pressure_mbar_gauge,current_A\n0,-30,5\n1,-31,5\n",
        ),
    },
    Page {
        id: id::RECORDING_UNLIKELY_UNIT,
        title: "Values that no vehicle shows in their unit",
        why: "Nothing is below an empty space (about −1013 mbar gauge), and a low-pressure supply doesn't reach 20 bar. \
              The values are read as the heading says all the same.",
        example: shown(
            Within::Recording,
            "time_s,pressure_kPa_gauge\n0,-95\n1,-285\n2,-280\n",
            "time_s,pressure_mbar_gauge\n0,-95\n1,-285\n2,-280\n",
        ),
    },
    Page {
        id: id::RECORDING_NO_BAROMETER,
        title: "A pressure against vacuum without the air pressure of the day",
        why: "Readings are told against the surrounding air. Without its pressure the standard 1013.25 mbar are taken, \
              which may be off by 30 mbar with the weather and by 11.5 mbar for every 100 m of height. Give \
              --barometer, or a column of it.",
        example: shown(
            Within::Recording,
            "time_s,pressure_kPa_abs\n0,98.4\n1,92.1\n",
            "time_s,pressure_kPa_abs,ambient_hPa\n0,98.4,1002\n1,92.1,1002\n",
        ),
    },
    Page {
        id: id::RECORDING_ROWS_OUT_OF_ORDER,
        title: "A few rows whose time goes back",
        why: "They are left out. The clock of the logger was perhaps set while it ran.",
        example: shown(
            Within::Recording,
            "time_s,pressure_mbar_gauge\n0,-30\n1,-31\n2,-31\n3,-31\n4,-31\n5,-31\n4.5,-31\n6,-31\n7,-31\n8,-31\n9,-31\n10,-31\n",
            "time_s,pressure_mbar_gauge\n0,-30\n1,-31\n2,-31\n",
        ),
    },
    Page {
        id: id::RECORDING_COARSE_TIME,
        title: "Samples that share their time stamps",
        why: "The stamps are coarser than the samples. They are spread evenly until the next stamp, so what is quicker \
              than a stamp can't be trusted.",
        example: shown(
            Within::Recording,
            "time_s,pressure_mbar_gauge\n0,-30\n0,-31\n1,-31\n1,-30\n2,-30\n",
            "time_s,pressure_mbar_gauge\n0.0,-30\n0.5,-31\n1.0,-31\n1.5,-30\n2.0,-30\n",
        ),
    },
];
