"""Makes the workbooks of the corpus in sheets/: invented records, one difficulty a file.

They are written by three libraries that share nothing with the program that reads them:
openpyxl 3.1.5 (XLSX), xlwt 1.3.0 (XLS) and odfpy 1.4.1 (ODS). Run: python make_workbooks.py
"""

import datetime as dt
import pathlib
import zipfile

import openpyxl
import xlwt
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P
from openpyxl.utils.datetime import CALENDAR_MAC_1904

OUT = pathlib.Path(__file__).parent / "sheets"
HEAD = ["Date", "Flour g", "Water g", "IDY g", "Bulk h", "Rise"]
DAY = dt.date(2026, 3, 1)
ROW = [DAY, 1000, 620, 2, 2, 1.8]


def book(name, fill):
    wb = openpyxl.Workbook()
    ws = wb.active
    ws.title = "Log"
    fill(wb, ws)
    wb.save(OUT / f"{name}.xlsx")


def rows(*lines):
    def fill(wb, ws):
        for line in lines:
            ws.append(line)
    return fill


def epoch_1904(wb, ws):
    wb.epoch = CALENDAR_MAC_1904
    rows(HEAD, ROW, [dt.datetime(2026, 3, 2, 8, 30)] + ROW[1:])(wb, ws)


def percent_format(wb, ws):
    rows(["Date", "Flour g", "Hydration", "Salt", "IDY", "Bulk h", "Rise"],
         [DAY, 1000, 0.62, 0.028, 0.003, 2, 1.8])(wb, ws)
    for cell in ("C2", "D2", "E2"):
        ws[cell].number_format = "0.0%"


def unit_format(wb, ws):
    rows(["Date", "Flour", "Water", "IDY", "Room", "Bulk", "Rise"],
         [DAY, 1.25, 775, 2.5, 72, 2, 1.8])(wb, ws)
    for cell, code in (("B2", '0.00" kg"'), ("C2", '0 "g"'), ("D2", '0.0 "g"'), ("E2", '0" °F"'), ("F2", '0.0" h"')):
        ws[cell].number_format = code


def formulas(wb, ws):
    # openpyxl writes formulas without their values: no program has calculated them yet.
    rows(HEAD, ROW, [DAY, "=500*2", 620, 2, 2, 1.8])(wb, ws)


def calculated(wb, ws):
    formulas(wb, ws)


def errors(wb, ws):
    rows(HEAD, [DAY, "#DIV/0!", 620, 2, 2, 1.8], [DAY, 1000, "#N/A", 2, 2, "#REF!"], ROW)(wb, ws)


def merged_headings(wb, ws):
    rows(["Invented hall, dough log"], [],
         ["Date", "Dough", None, None, "Preferment", None, None, None, "Cold", None, "Rise"],
         [None, "flour g", "water g", "IDY g", "flour g", "water g", "yeast g", "hrs", "hrs", "°F", None],
         [DAY, 1000, 640, 1, 300, 300, 0.3, 12, 24, 39.2, 1.9])(wb, ws)
    for area in ("A1:K1", "A3:A4", "B3:D3", "E3:H3", "I3:J3", "K3:K4"):
        ws.merge_cells(area)


def merged_group_reaches_no_further(wb, ws):
    rows(["Date", "Preferment", None, None, None, "", "", "", "", ""],
         ["", "flour g", "water g", "yeast g", "hrs", "flour g", "water g", "IDY g", "bulk h", "rise"],
         [DAY, 300, 300, 0.3, 12, 1000, 640, 1, 2, 1.9])(wb, ws)
    ws.merge_cells("B1:E1")


def two_years(wb, ws):
    ws.title = "2025"
    rows(HEAD, ROW)(wb, ws)
    rows(HEAD, [dt.date(2026, 4, 1)] + ROW[1:])(wb, wb.create_sheet("2026"))
    wb.create_sheet("Shopping").append(["Flour", "two sacks"])


def three_tables(wb, ws):
    ws.title = "Batches"
    rows(["Batch"] + HEAD, ["a"] + ROW)(wb, ws)
    rows(["Batch", "Hours", "Rise"], ["a", 1, 1.3], ["a", 2, 1.8])(wb, wb.create_sheet("Readings"))
    rows(["Batch", "Hours", "Surroundings °C"], ["a", 0, 24])(wb, wb.create_sheet("Room log"))
    hidden = wb.create_sheet("Old")
    rows(["Batch"] + HEAD, ["old"] + ROW)(wb, hidden)
    hidden.sheet_state = "hidden"


def far_corner(wb, ws):
    for i, (head, value) in enumerate(zip(HEAD, ROW)):
        ws.cell(7, 4 + i, head)
        ws.cell(9, 4 + i, value)
    ws.cell(1_048_576, 16_384, " ")


def times(wb, ws):
    rows(["Date", "Start", "Flour g", "Water g", "IDY g", "Bulk h", "Cold time", "Rise"],
         [DAY, dt.time(8, 30), 1000, 620, 2, dt.timedelta(hours=1, minutes=30), dt.timedelta(hours=36), 1.8],
         [DAY, dt.time(18, 5), 1000, 620, 2, dt.time(2, 15), dt.timedelta(days=3), 1.8])(wb, ws)


def exchanged_dates(wb, ws):
    # What a month-first spreadsheet makes of 3/4, 12/4 and 13/4, typed day first.
    rows(HEAD, [dt.date(2026, 3, 4)] + ROW[1:], [dt.date(2026, 12, 4)] + ROW[1:], ["13/4/2026"] + ROW[1:])(wb, ws)


def number_taken_for_a_date(wb, ws):
    rows(HEAD, ROW, [DAY, 1000, 620, dt.date(2026, 5, 2), 2, 1.8], [46082] + ROW[1:])(wb, ws)


def words_and_numbers(wb, ws):
    rows(["Batch"] + HEAD + ["Notes"], [17] + ROW + [True], ["0017"] + ROW + [3.5], ["=x"] + ROW + ["@b"])(wb, ws)
    ws["A4"].data_type = "s"


for name, fill in {
    "workbook-dates": rows(HEAD, ROW, [dt.datetime(2026, 3, 2, 8, 30)] + ROW[1:]),
    "workbook-1904": epoch_1904,
    "workbook-percent-format": percent_format,
    "workbook-unit-format": unit_format,
    "workbook-formula-not-calculated": formulas,
    "workbook-errors": errors,
    "workbook-merged-headings": merged_headings,
    "workbook-merged-group-ends": merged_group_reaches_no_further,
    "workbook-two-years": two_years,
    "workbook-chosen-sheet": two_years,
    "workbook-no-such-sheet": two_years,
    "workbook-three-tables": three_tables,
    "workbook-far-corner": far_corner,
    "workbook-times": times,
    "workbook-exchanged-dates": exchanged_dates,
    "workbook-number-taken-for-a-date": number_taken_for_a_date,
    "workbook-words-and-numbers": words_and_numbers,
    "workbook-empty": rows(),
}.items():
    book(name, fill)
(OUT / "workbook-chosen-sheet.map.toml").write_text('sheet = "2026"\n')
(OUT / "workbook-no-such-sheet.map.toml").write_text('sheet = "2024"\n')

# A formula with the value that a spreadsheet program stored for it.
with zipfile.ZipFile(OUT / "workbook-formula-not-calculated.xlsx") as old:
    with zipfile.ZipFile(OUT / "workbook-formula-calculated.xlsx", "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.infolist():
            data = old.read(part)
            if part.filename.endswith("sheet1.xml"):
                assert b"<f>500*2</f><v" in data
                data = data.replace(b"<f>500*2</f><v></v>", b"<f>500*2</f><v>1000</v>")
                data = data.replace(b"<f>500*2</f><v />", b"<f>500*2</f><v>1000</v>")
            new.writestr(part, data)

(OUT / "workbook-cut-short.xlsx").write_bytes((OUT / "workbook-dates.xlsx").read_bytes()[:3000])


def old_book(name, epoch_1904):
    wb = xlwt.Workbook()
    wb.dates_1904 = epoch_1904
    ws = wb.add_sheet("Log")
    day = xlwt.easyxf(num_format_str="DD/MM/YYYY")
    for x, head in enumerate(HEAD):
        ws.write(2, x, head)
        ws.write(3, x, ROW[x], day if x == 0 else xlwt.Style.default_style)
    ws.write_merge(0, 0, 0, 5, "Invented hall")
    wb.save(str(OUT / f"{name}.xls"))


old_book("workbook-old", False)
old_book("workbook-old-1904", True)


def open_document(name, lines, repeat=None):
    doc = OpenDocumentSpreadsheet()
    table = Table(name="Log")
    for line in lines:
        tr = TableRow()
        for value in line:
            match value:
                case None:
                    cell = TableCell()
                case dt.date():
                    cell = TableCell(valuetype="date", datevalue=value.isoformat())
                case dt.timedelta():
                    minutes = int(value.total_seconds()) // 60
                    cell = TableCell(valuetype="time", timevalue=f"PT{minutes // 60:02}H{minutes % 60:02}M00S")
                case int() | float():
                    cell = TableCell(valuetype="float", value=value)
                case _:
                    cell = TableCell(valuetype="string")
                    cell.addElement(P(text=value))
            tr.addElement(cell)
        table.addElement(tr)
    if repeat:
        tr = TableRow(numberrowsrepeated=repeat[0])
        cell = TableCell(valuetype="float", value=1, numbercolumnsrepeated=repeat[1])
        tr.addElement(cell)
        table.addElement(tr)
    doc.spreadsheet.addElement(table)
    doc.save(str(OUT / f"{name}.ods"))


open_document("workbook-open", [["Invented hall"], [], HEAD, ROW, [DAY, 1000, 62.5, 2, dt.timedelta(minutes=90), 1.8]])
open_document("workbook-open-repeated", [HEAD, ROW], repeat=(1_000_000, 10_000))
