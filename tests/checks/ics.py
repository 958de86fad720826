"""Reads a calendar of `putby calendar` with two general libraries and prints what they see, or what is wrong.

Use: python3 tests/checks/ics.py FILE.ics [FILE2.ics]
Needs icalendar and vobject (seen with 7.3.2 and 0.9.9). A second file, written from the same garden as of a later day, must
hold the same entries by name (UID) wherever they are still to come, with a higher revision.
"""

import sys

import icalendar
import vobject


def events(path):
    text = open(path, "rb").read().decode("utf-8")
    assert text.endswith("END:VCALENDAR\r\n"), "ends in CR LF"
    assert "\n" not in text.replace("\r\n", ""), "no bare line feed"
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n")), "lines of 75 octets"
    calendar = icalendar.Calendar.from_ical(text)
    assert not calendar.errors, calendar.errors
    found = {}
    for event in calendar.walk("VEVENT"):
        assert not event.errors, event.errors
        uid = str(event["UID"])
        assert uid not in found, f"{uid} stands twice"
        start, end = event.decoded("DTSTART"), event.decoded("DTEND")
        assert start < end, f"{uid} ends before it begins"
        assert getattr(start, "tzinfo", None) is None, "times float"
        found[uid] = (start, end, str(event["SUMMARY"]), int(event["SEQUENCE"]))
    other = vobject.readOne(text)
    other.validate(raiseException=True)
    again = {
        e.uid.value: (e.dtstart.value, e.dtend.value, e.summary.value, int(e.sequence.value)) for e in other.vevent_list
    }
    assert found == again, "the two libraries disagree"
    return found


first = events(sys.argv[1])
print(f"{sys.argv[1]}: {len(first)} entries, both libraries agree")
if len(sys.argv) > 2:
    second = events(sys.argv[2])
    shared = first.keys() & second.keys()
    assert shared, "no entry is in both"
    assert all(second[uid][3] > first[uid][3] for uid in shared), "a later file is a later revision"
    print(f"{sys.argv[2]}: {len(second)} entries, {len(shared)} of them the same as before")
