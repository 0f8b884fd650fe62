"""A sheet of readings, and the ways in which a spreadsheet program saves it. Used by tests/cli/spreadsheet_test.py, which reads the
files in tests/data/spreadsheet, and by tools/dev/check_spreadsheet, which has the program save them again."""

import pathlib
import subprocess
from xml.sax.saxutils import escape

APERTURES = {"warp": [75.5, 74.25, 76, 73.125, 75, 74.75, 76.5, 75.25], "weft": [74.5, 75.75, 75, 76.25, 74, 75.125]}
WIRES = {"warp": [50.5, 49.75], "weft": [50, 50.25, 49.5]}


def tall(operator):
    """One reading a row, as people head their columns."""
    rows = [["Direction", "Aperture (\u00b5m)", "wire, \u00b5m", "Operator"]]
    for direction in ("warp", "weft"):
        wires = WIRES[direction] + [None] * len(APERTURES[direction])
        rows += [[direction.capitalize(), aperture, wire, operator] for aperture, wire in zip(APERTURES[direction], wires)]
    return rows


def wide():
    """One column a direction and quantity."""
    columns = [["Kette \u00b5m", *APERTURES["warp"]], ["Kettdraht [\u00b5m]", *WIRES["warp"]],
               ["Schuss \u00b5m", *APERTURES["weft"]], ["Schussdraht [\u00b5m]", *WIRES["weft"]]]
    return [[column[row] if row < len(column) else None for column in columns] for row in range(max(map(len, columns)))]


WIDE_COLUMNS = "columns: {warp: {aperture: Kette \u00b5m, wire: 'Kettdraht [\u00b5m]'}, weft: {aperture: Schuss \u00b5m, wire: 'Schussdraht [\u00b5m]'}}\n"

UTF_8, UTF_16, WINDOWS_1252 = 76, 65535, 1  # the program's numbers of character sets
COMMA, SEMICOLON, TAB = 44, 59, 9

# Name: sheet, locale of the program, separator, character set, whether text is quoted.
SAVED = {
    "us-utf-8.csv": (tall("Ann"), "en-US", COMMA, UTF_8, False),
    "us-quoted.csv": (tall("Ann"), "en-US", COMMA, UTF_8, True),
    "us-utf-16.txt": (tall("Ann"), "en-US", TAB, UTF_16, False),
    "us-windows-1252.csv": (tall("Ann"), "en-US", COMMA, WINDOWS_1252, False),
    "de-utf-8.csv": (tall("J\u00f6rg"), "de-DE", SEMICOLON, UTF_8, False),
    "de-utf-16.txt": (tall("J\u00f6rg"), "de-DE", TAB, UTF_16, False),
    "de-windows-1252.csv": (tall("Anna"), "de-DE", SEMICOLON, WINDOWS_1252, False),
    "de-wide-windows-1252.csv": (wide(), "de-DE", SEMICOLON, WINDOWS_1252, False),
    "de-refused-windows-1252.csv": (tall("J\u00f6rg"), "de-DE", SEMICOLON, WINDOWS_1252, False),
}


def document(rows):
    """The sheet as a flat OpenDocument spreadsheet. Source: OpenDocument 1.3, part 3."""
    def cell(value):
        if value is None:
            return "<table:table-cell/>"
        if isinstance(value, str):
            return f'<table:table-cell office:value-type="string"><text:p>{escape(value)}</text:p></table:table-cell>'
        return f'<table:table-cell office:value-type="float" office:value="{value}"/>'

    name = "urn:oasis:names:tc:opendocument:xmlns"
    body = "".join(f"<table:table-row>{''.join(map(cell, row))}</table:table-row>" for row in rows)
    return (f'<?xml version="1.0" encoding="UTF-8"?><office:document xmlns:office="{name}:office:1.0" xmlns:text="{name}:text:1.0" '
            f'xmlns:table="{name}:table:1.0" office:version="1.3" office:mimetype="application/vnd.oasis.opendocument.spreadsheet">'
            f'<office:body><office:spreadsheet><table:table table:name="readings">{body}</table:table></office:spreadsheet></office:body>'
            "</office:document>")


def profile(folder, locale):
    """A profile of the program in which the locale is set as in its options."""
    path = folder / f"profile-{locale}"
    (path / "user").mkdir(parents=True, exist_ok=True)
    (path / "user/registrymodifications.xcu").write_text(
        '<?xml version="1.0" encoding="UTF-8"?><oor:items xmlns:oor="http://openoffice.org/2001/registry">'
        '<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" oor:op="fuse">'
        f"<value>{locale}</value></prop></item></oor:items>")
    return path


def save(folder, name):
    """Has the program save one file. Returns its bytes."""
    rows, locale, separator, charset, quoted = SAVED[name]
    sheet = folder / f"{pathlib.Path(name).stem}.fods"
    sheet.write_text(document(rows), encoding="utf-8")
    options = f"csv:Text - txt - csv (StarCalc):{separator},34,{charset},1,,0,{str(quoted).lower()},true"
    subprocess.run(["soffice", f"-env:UserInstallation={profile(folder, locale).resolve().as_uri()}", "--headless", "--convert-to", options,
                    "--outdir", folder, sheet], check=True, capture_output=True, timeout=300)
    return sheet.with_suffix(".csv").read_bytes()
