"""Damaged files again, with a fuzzer that follows the code it has reached.

``python tests/exchange/fuzz_guided.py [FOLDER] -runs=10000`` where the package atheris is installed
(no test needs it): files of coupons and of a whole log, read and, where they can be read, written
and read again. Anything but a sentence or the same records ends the run with the file that did it.
"""

import io
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import atheris

with atheris.instrument_imports(include=["advisor.exchange", "advisor.coupons"]):
    from exchange_makers import NOW, header_of

    from advisor.coupons.importing import DECIDING, own_map, read_coupons, read_table
    from advisor.errors import AdvisorError
    from advisor.exchange.json_lines import write_json_lines
    from advisor.exchange.log_file import LogFile

from fuzz import coupon_csv


def whole_log(data):
    try:
        records = [placed.record for placed in LogFile(io.BytesIO(data)).records()]
    except AdvisorError:
        return
    again = io.BytesIO()
    write_json_lines(again, header_of(records), records)
    if [placed.record for placed in LogFile(again).records()] != records:
        raise RuntimeError("the records do not come back")


def coupons(data):
    try:
        table = read_table(data)
        reading = read_coupons(table, own_map(table.header), needed=DECIDING, now=NOW)
    except AdvisorError:
        return
    if reading.coupons:
        again = read_table(coupon_csv(reading.coupons))
        if read_coupons(again, own_map(again.header)).coupons != reading.coupons:
            raise RuntimeError("the coupons do not come back")


def one(data):
    (coupons if data[:1] == b"c" else whole_log)(data[1:])


if __name__ == "__main__":
    atheris.Setup(sys.argv, one)
    atheris.Fuzz()
