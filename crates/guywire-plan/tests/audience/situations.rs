//! Situations worked by hand from the standards, one row each of the table in `docs/audience.md`.

/// What is sent.
#[derive(Clone, Copy)]
pub enum Sending {
    /// Push-to-talk of the sender on channel `Out`.
    PushToTalk,
    /// What the listener answers from its channel `In` after it has heard `Out` while scanning; the sender listens.
    ScanReply,
}

/// A sender on channel `Out`, a listener, and what the listener makes of the call.
pub struct Situation {
    pub what: &'static str,
    pub why: &'static str,
    pub source: &'static str,
    pub expected: &'static str,
    pub sending: Sending,
    /// Keys of the channel `Out` of the sender.
    pub out: &'static str,
    /// Keys of the channel `In` of the listener.
    pub hear: &'static str,
    /// Keys of the radio that listens.
    pub radio: &'static str,
    /// Keys of the model.
    pub model: &'static str,
    /// Further tables.
    pub more: &'static str,
}

const NOTHING_MORE: Situation = Situation {
    what: "",
    why: "",
    source: "",
    expected: "",
    sending: Sending::PushToTalk,
    out: "",
    hear: "",
    radio: "",
    model: "",
    more: "",
};

const THROUGH: &str = "sends = \"digital\"\nrepeater = \"beacon\"\nslot = 1\ncall = \"Berths\"";
const DIRECT: &str = "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 1\nslot = 1\ncall = \"Berths\"";
const KEYS: &str = r#"
[[key]]
name = "one"
algorithm = "aes-256"
id = 17
check_value = "9f3a77"

[[key]]
name = "other"
algorithm = "aes-256"
id = 17
check_value = "0b11c4"

[[key]]
name = "third"
algorithm = "aes-256"
id = 18

[[key]]
name = "scramble"
algorithm = "fixed-scramble"
"#;
const SECRET: &str = "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 1\ncall = \"Berths\"\nprivacy = \"one\"";
const SCRAMBLED: &str =
    "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 1\ncall = \"Berths\"\nprivacy = \"scramble\"";
const PRACTICE: &str = "common practice, no source";

pub const SITUATIONS: &[Situation] = &[
    Situation {
        what: "Listening on a repeater's input",
        why: "A radio's burst has the mobile pattern also on its way to a repeater, and a direct channel waits for it; \
              the channel information that tells slots apart is on the output only",
        source: "TS 102 361-1, 9.1.1; the channel information from memory",
        expected: "hears",
        out: THROUGH,
        hear: "sends = \"digital\"\nrx_mhz = 458.2125\ncolor_code = 5\nslot = 2\ncall = \"Berths\"",
        ..NOTHING_MORE
    },
    Situation {
        what: "Talk-around beside a repeater channel",
        why: "Same carrier, mobile pattern instead of the base's: most radios take both",
        source: PRACTICE,
        expected: "hears",
        out: "sends = \"digital\"\nrepeater = \"beacon\"\ntalk_around = true\nslot = 1\ncall = \"Berths\"",
        hear: THROUGH,
        ..NOTHING_MORE
    },
    Situation {
        what: "Talk-around, and a model that waits for the base's pattern",
        why: "The pattern says who sends; this model looks for a repeater's only",
        source: "TS 102 361-1, 9.1.1",
        expected: "no: hears no radio that sends direct",
        out: "sends = \"digital\"\nrepeater = \"beacon\"\ntalk_around = true\nslot = 1\ncall = \"Berths\"",
        hear: THROUGH,
        model: "hears_direct_on_repeater_channel = false",
        ..NOTHING_MORE
    },
    Situation {
        what: "Another color code, direct",
        why: "A receiver stays muted to bursts of another color code",
        source: "TS 102 361-1, table 9.18",
        expected: "no: waits for color code 2, the call has 1",
        out: DIRECT,
        hear: "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 2\ncall = \"Berths\"",
        ..NOTHING_MORE
    },
    Situation {
        what: "Color code 15",
        why: "In trunked systems it stands for all sites, so it is counted as a match and warned of elsewhere",
        source: "TS 102 361-4, from memory",
        expected: "hears",
        out: "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 15\ncall = \"Berths\"",
        hear: DIRECT,
        ..NOTHING_MORE
    },
    Situation {
        what: "Another color code towards a repeater",
        why: "A repeater is opened by its own color code",
        source: "TS 102 361-1, table 9.18; TS 102 361-2 for the opening, from memory",
        expected: "no: repeater beacon wants color code 5, the call has 3",
        out: "sends = \"digital\"\nrepeater = \"beacon\"\ncolor_code = 3\nslot = 1\ncall = \"Berths\"",
        hear: THROUGH,
        ..NOTHING_MORE
    },
    Situation {
        what: "The other slot of a repeater",
        why: "The two slots of an output are two channels",
        source: "TS 102 361-1, 4.1",
        expected: "no: listens to slot 2, the call is on slot 1",
        out: THROUGH,
        hear: "sends = \"digital\"\nrepeater = \"beacon\"\nslot = 2\ncall = \"Berths\"",
        ..NOTHING_MORE
    },
    Situation {
        what: "Other slots in plain direct mode",
        why: "Without a repeater or TDMA direct mode nothing says when a slot begins, so none is told apart",
        source: "TS 102 361-2, 6.2",
        expected: "hears",
        out: DIRECT,
        hear: "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 1\nslot = 2\ncall = \"Berths\"",
        ..NOTHING_MORE
    },
    Situation {
        what: "TDMA direct mode to plain direct mode",
        why: "TDMA direct mode has patterns of its own for each slot",
        source: "TS 102 361-1, 9.1.1",
        expected: "no: is not set to TDMA direct mode",
        out: "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 1\nslot = 1\ncall = \"Berths\"\ntdma_direct_mode = true",
        hear: DIRECT,
        ..NOTHING_MORE
    },
    Situation {
        what: "Other slots in TDMA direct mode",
        why: "There the pattern says which slot it is",
        source: "TS 102 361-1, 9.1.1; TS 102 361-2, 6.2",
        expected: "no: listens to slot 2, the call is on slot 1",
        out: "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 1\nslot = 1\ncall = \"Berths\"\ntdma_direct_mode = true",
        hear: "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 1\nslot = 2\ncall = \"Berths\"\ntdma_direct_mode = true",
        ..NOTHING_MORE
    },
    Situation {
        what: "All call in another color code",
        why: "The address is for all, but color code comes before address",
        source: "TS 102 361-1, table 9.18 and annex A",
        expected: "no: waits for color code 1, the call has 2",
        out: "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 2\ncall = \"Everyone\"",
        hear: DIRECT,
        more: "[[contact]]\nname = \"Everyone\"\nall_call = true\n",
        ..NOTHING_MORE
    },
    Situation {
        what: "All call to a channel with another talkgroup",
        why: "The address is for all, whatever the receive group",
        source: "TS 102 361-1, annex A",
        expected: "hears",
        out: "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 1\ncall = \"Everyone\"",
        hear: "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 1\ncall = \"Cranes\"",
        more: "[[contact]]\nname = \"Everyone\"\nall_call = true\n",
        ..NOTHING_MORE
    },
    Situation {
        what: "Individual call to a radio that scans",
        why: "It is for that address on any channel that the radio listens to, while it gets there in time",
        source: "TS 102 361-1, annex A; the scanning is common practice, no source",
        expected: "hears if scanning",
        out: "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 1\ncall = \"Lock 2\"",
        hear: "sends = \"digital\"\nrx_mhz = 461.1\ncolor_code = 1\ncall = \"Cranes\"\nscan_list = \"Quay\"",
        more: "[[contact]]\nname = \"Lock 2\"\nid = 21002\n\n[[scan_list]]\nname = \"Quay\"\nchannels = [\"Out\"]\n",
        ..NOTHING_MORE
    },
    Situation {
        what: "Equal key number, other material",
        why: "The header names algorithm and number, so the receiver deciphers with what it has under them: garbled",
        source: "the privacy header of TS 102 361-1, from memory",
        expected: "noise: garbled: other key material under that key number",
        out: SECRET,
        hear: "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 1\ncall = \"Berths\"\nprivacy = \"other\"",
        more: KEYS,
        ..NOTHING_MORE
    },
    Situation {
        what: "Another key number",
        why: "The header names a number that the receiver does not have: it stays muted",
        source: "the privacy header of TS 102 361-1, from memory",
        expected: "no: has no key of that number",
        out: SECRET,
        hear: "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 1\ncall = \"Berths\"\nprivacy = \"third\"",
        more: KEYS,
        ..NOTHING_MORE
    },
    Situation {
        what: "Fixed scramble to a radio in clear",
        why: "No number is on the air, so a receiver cannot know that it lacks the key, and plays what comes",
        source: PRACTICE,
        expected: "noise: garbled: other key material under that key number",
        out: SCRAMBLED,
        hear: DIRECT,
        more: KEYS,
        ..NOTHING_MORE
    },
    Situation {
        what: "Clear call to a channel with `receive_clear = false`",
        why: "The call says that it is in clear, and the channel takes none of those",
        source: "the privacy bit of TS 102 361-2, from memory",
        expected: "no: takes no clear calls",
        out: DIRECT,
        hear: "sends = \"digital\"\nrx_mhz = 460.1\ncolor_code = 1\ncall = \"Berths\"\nprivacy = \"one\"\nreceive_clear = false",
        more: KEYS,
        ..NOTHING_MORE
    },
    Situation {
        what: "Digital into an analog channel that any carrier opens",
        why: "A squelch without tone opens to the carrier; four-level FSK comes out as a buzz",
        source: "TIA-603 for the squelch; the sound is common practice, no source",
        expected: "noise: a buzz: digital into an analog channel that any carrier opens",
        out: DIRECT,
        hear: "sends = \"analog\"\nrx_mhz = 460.1",
        ..NOTHING_MORE
    },
    Situation {
        what: "25 kHz into 12.5 kHz",
        why: "Twice the deviation is cut off by a filter of half the width: distorted",
        source: "TIA-603",
        expected: "noise: distorted: the signal is wider than the channel",
        out: "sends = \"analog\"\nrx_mhz = 460.1\nbandwidth_khz = 25",
        hear: "sends = \"analog\"\nrx_mhz = 460.1\nbandwidth_khz = 12.5",
        ..NOTHING_MORE
    },
    Situation {
        what: "`DCS 023N` to `DCS 047I`",
        why: "The complement of the word of 047 is a rotation of the word of 023: one stream on the air",
        source: "TIA-603 (the words; the rotation is computed)",
        expected: "hears",
        out: "sends = \"analog\"\nrx_mhz = 460.1\ntx_tone = \"DCS 023N\"",
        hear: "sends = \"analog\"\nrx_mhz = 460.1\nrx_tone = \"DCS 047I\"",
        ..NOTHING_MORE
    },
    Situation {
        what: "`DCS 023N` to `DCS 047N`",
        why: "The words are no rotations of each other",
        source: "TIA-603 (the words; the rotation is computed)",
        expected: "no: waits for another tone",
        out: "sends = \"analog\"\nrx_mhz = 460.1\ntx_tone = \"DCS 023N\"",
        hear: "sends = \"analog\"\nrx_mhz = 460.1\nrx_tone = \"DCS 047N\"",
        ..NOTHING_MORE
    },
    Situation {
        what: "`only_listed`, and a talkgroup that is not",
        why: "The slot takes listed talkgroups alone, so nothing comes out",
        source: PRACTICE,
        expected: "no: repeater picky takes only the talkgroups that are listed for the slot",
        out: "sends = \"digital\"\nrepeater = \"picky\"\nslot = 1\ncall = \"Berths\"",
        hear: "sends = \"digital\"\nrepeater = \"picky\"\nslot = 1\ncall = \"Berths\"",
        more: "[[repeater]]\nname = \"picky\"\ntx_mhz = 453.4\nrx_mhz = 458.4\ncolor_code = 5\n\
               slot_1 = { talkgroups = [\"Cranes\"], only_listed = true }\n",
        ..NOTHING_MORE
    },
    Situation {
        what: "A talkgroup that a network passes everywhere",
        why: "What one member repeats comes out of the other, in that one's color code",
        source: PRACTICE,
        expected: "hears",
        out: THROUGH,
        hear: "sends = \"digital\"\nrepeater = \"mole\"\nslot = 1\ncall = \"Berths\"",
        more: "[[repeater]]\nname = \"mole\"\ntx_mhz = 453.4\nrx_mhz = 458.4\ncolor_code = 7\n\n[[network]]\n\
               name = \"harbor\"\nrepeaters = [\"beacon\", \"mole\"]\nwide = [{ talkgroup = \"Berths\", slot = 1 }]\n",
        ..NOTHING_MORE
    },
    Situation {
        what: "A spare radio",
        why: "It is on a shelf: somebody may take it and turn it there",
        source: PRACTICE,
        expected: "could tune",
        out: DIRECT,
        hear: DIRECT,
        radio: "status = \"spare\"",
        ..NOTHING_MORE
    },
    Situation {
        what: "Scan reply `last-heard`",
        why: "The answer goes out on the channel and to the group that was heard",
        source: "TS 102 361-2 for the group, from memory; the channel is common practice, no source",
        expected: "hears",
        sending: Sending::ScanReply,
        out: THROUGH,
        hear: "sends = \"digital\"\nrepeater = \"beacon\"\nslot = 2\ncall = \"Cranes\"\nscan_list = \"Quay\"",
        more: "[[scan_list]]\nname = \"Quay\"\nchannels = [\"Out\"]\nreply = \"last-heard\"\n",
        ..NOTHING_MORE
    },
    Situation {
        what: "Scan reply `selected`",
        why: "The answer goes out on the channel of the knob, where the caller is not",
        source: PRACTICE,
        expected: "no: listens to slot 1, the call is on slot 2",
        sending: Sending::ScanReply,
        out: THROUGH,
        hear: "sends = \"digital\"\nrepeater = \"beacon\"\nslot = 2\ncall = \"Cranes\"\nscan_list = \"Quay\"",
        more: "[[scan_list]]\nname = \"Quay\"\nchannels = [\"Out\"]\nreply = \"selected\"\n",
        ..NOTHING_MORE
    },
];
