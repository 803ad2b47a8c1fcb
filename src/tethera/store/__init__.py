"""What happened to each rope: a log of events, and the state worked out from it."""

from tethera.store.age import Leaving, age_counts_from, age_years, examination_due, leaves_on, leaving, months_on
from tethera.store.bands import Band, band_of, read_bands
from tethera.store.chain import GENESIS, Break, Chain, Head, head_of, heads_in, linked, read_head, sum_of
from tethera.store.codec import (
    decode_event,
    decode_recorded,
    encode_event,
    encode_recorded,
    encode_to_keep,
)
from tethera.store.competent import needs_competent, only_competent
from tethera.store.counts import Settled, agree_cm, settle
from tethera.store.cutting_out import pieces_without, sound_stretches
from tethera.store.cutting_reels import Cutting
from tethera.store.equipment_record import EquipmentRecord, Examination, equipment_record
from tethera.store.events import (
    EVENT_KINDS,
    Booked,
    BookingReleased,
    Bought,
    Chained,
    Cleared,
    Corrected,
    Cut,
    Described,
    DocumentAttached,
    Dried,
    Event,
    Found,
    Inspected,
    LeftRigged,
    Marked,
    Measured,
    Missed,
    Piece,
    PutIntoService,
    RecordedAsFound,
    Retired,
    Returned,
    RopeEvent,
    RoutePutAway,
    RouteWritten,
    SetAside,
    Specified,
    Spun,
    Stocktaken,
    StoreDescribed,
    TakenOut,
    Used,
    Washed,
    Weighed,
    kind,
)
from tethera.store.examining import ToExamine, due_soon_days, likely_reason, to_examine
from tethera.store.faults import names_a_fault
from tethera.store.file_log import (
    DamagedLog,
    FileLog,
    sync_folder,
)
from tethera.store.first_washes import BeforeAfter, InUse, KindOfRope, kind_in_words
from tethera.store.import_by_hand import MEANINGS, ByHand
from tethera.store.life import KnownLength, LifeLine, known_lengths, life
from tethera.store.limits import warmest_wash_c
from tethera.store.log import (
    EventLog,
    LogMovedOn,
    Recorded,
)
from tethera.store.marks_true import initials
from tethera.store.memory_log import MemoryLog
from tethera.store.naming import by_number
from tethera.store.outlook import Kind, by_age, by_kind, by_length
from tethera.store.people import People, id_for
from tethera.store.prices import Price, last_prices, replacing_pence
from tethera.store.register import (
    DEFAULT_CODE,
    Register,
    UnknownRope,
)
from tethera.store.rope_state import (
    Booking,
    RopeState,
    length_band_cm,
    length_sd_cm,
)
from tethera.store.rules import (
    Refused,
    missing,
)
from tethera.store.shrinkages import KindTold, Known
from tethera.store.spoken import spoken_event
from tethera.store.spreadsheet import Doubt, ImportReading, LeftOut, rows_to_events
from tethera.store.state import (
    Entry,
    Fold,
)
from tethera.store.taking import speaks_against
from tethera.store.todo import Waiting
from tethera.store.trips import trips_ahead
from tethera.store.verifying import Held, Verdict, said, verify
from tethera.store.weighing import SaidByWeight, Weight, said_by_weight, weight
from tethera.store.written_routes import RopeSeen, RouteVersion, WrittenRoute, route_key, seen_on, written_routes

__all__ = [
    "DEFAULT_CODE",
    "EVENT_KINDS",
    "GENESIS",
    "MEANINGS",
    "Band",
    "BeforeAfter",
    "Booked",
    "Booking",
    "BookingReleased",
    "Bought",
    "Break",
    "ByHand",
    "Chain",
    "Chained",
    "Cleared",
    "Corrected",
    "Cut",
    "Cutting",
    "DamagedLog",
    "Described",
    "DocumentAttached",
    "Doubt",
    "Dried",
    "Entry",
    "EquipmentRecord",
    "Event",
    "EventLog",
    "Examination",
    "FileLog",
    "Fold",
    "Found",
    "Head",
    "Held",
    "ImportReading",
    "InUse",
    "Inspected",
    "Kind",
    "KindOfRope",
    "KindTold",
    "Known",
    "KnownLength",
    "Leaving",
    "LeftOut",
    "LeftRigged",
    "LifeLine",
    "LogMovedOn",
    "Marked",
    "Measured",
    "MemoryLog",
    "Missed",
    "People",
    "Piece",
    "Price",
    "PutIntoService",
    "Recorded",
    "RecordedAsFound",
    "Refused",
    "Register",
    "Retired",
    "Returned",
    "RopeEvent",
    "RopeSeen",
    "RopeState",
    "RoutePutAway",
    "RouteVersion",
    "RouteWritten",
    "SaidByWeight",
    "SetAside",
    "Settled",
    "Specified",
    "Spun",
    "Stocktaken",
    "StoreDescribed",
    "TakenOut",
    "ToExamine",
    "UnknownRope",
    "Used",
    "Verdict",
    "Waiting",
    "Washed",
    "Weighed",
    "Weight",
    "WrittenRoute",
    "age_counts_from",
    "age_years",
    "agree_cm",
    "band_of",
    "by_age",
    "by_kind",
    "by_length",
    "by_number",
    "decode_event",
    "decode_recorded",
    "due_soon_days",
    "encode_event",
    "encode_recorded",
    "encode_to_keep",
    "equipment_record",
    "examination_due",
    "head_of",
    "heads_in",
    "id_for",
    "initials",
    "kind",
    "kind_in_words",
    "known_lengths",
    "last_prices",
    "leaves_on",
    "leaving",
    "length_band_cm",
    "length_sd_cm",
    "life",
    "likely_reason",
    "linked",
    "missing",
    "months_on",
    "names_a_fault",
    "needs_competent",
    "only_competent",
    "pieces_without",
    "read_bands",
    "read_head",
    "replacing_pence",
    "route_key",
    "rows_to_events",
    "said",
    "said_by_weight",
    "seen_on",
    "settle",
    "sound_stretches",
    "speaks_against",
    "spoken_event",
    "sum_of",
    "sync_folder",
    "to_examine",
    "trips_ahead",
    "verify",
    "warmest_wash_c",
    "weight",
    "written_routes",
]
