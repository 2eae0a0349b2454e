"""Invented logs in other languages; beside each header stands what it means.

The meanings are common practice of the trade (no published source).
"""

import tomllib
from pathlib import Path
from typing import NamedTuple

from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from tests.builders import write_csv

# Header, the column it means, and a few values, which are repeated.
Headers = list[tuple[str, str, list[str]]]
NUMBERED = [str(number) for number in range(1, 25)]
DAYS = [f"{number:02}.05.2026" for number in range(4, 28)]


class Log(NamedTuple):
    """An invented log: per column what it means, its unit, header and values."""

    delimiter: str
    encoding: str
    date_format: str
    columns: list[tuple[str | None, str | None, str, list[str]]]
    codes: dict[str, dict[str, str]]


FRENCH = Log(
    ";",
    "windows-1252",
    "%d/%m/%Y",
    [
        ("record_id", None, "N° de fiche", ["F-1", "F-2", "F-3"]),
        (
            "installed_on",
            None,
            "Date de pose",
            ["11/05/2026", "12/05/2026", "13/05/2026"],
        ),
        ("installed_time", None, "Heure", ["08:15", "09:20", "15:40"]),
        ("crew_code", None, "Équipe", ["E1", "E2", "E1"]),
        ("setting_code", None, "Données de pose", ["M12-68"] * 3),
        ("inspector_code", None, "Contrôlé par", ["C3"] * 3),
        ("outcome", None, "Résultat", ["posée", "posée", "abandonnée"]),
        ("orientation", None, "Orientation", ["mur", "plafond", "sol"]),
        ("anchor_length_mm", "mm", "Longueur de la cheville (mm)", ["110"] * 3),
        ("concrete_mpa", "MPa", "Résistance du béton (MPa)", ["30", "35", "30"]),
        ("drill_method", None, "Mode de perçage", ["percussion", "carottage", ""]),
        ("extraction_on", None, "Aspiration", ["oui", "non", "oui"]),
        ("bit_diameter_mm", "mm", "Ø foret (mm)", ["12,2", "12,1", "12,3"]),
        ("hole_depth_mm", "cm", "Prof. de perçage [cm]", ["9,2", "9,1", "9,4"]),
        ("brush_count", None, "Nb de brossages", ["2", "2", "3"]),
        ("fixture_thickness_mm", "mm", "Épaisseur à fixer (mm)", ["20", "18", "20"]),
        ("projection_mm", "mm", "Dépassement (mm)", ["11", "12", "9"]),
        ("edge_1_mm", "cm", "Dist. au bord (cm)", ["12,5", "libre", "9"]),
        ("spacing_mm", "cm", "Entraxe (cm)", ["20,5", "libre", "14"]),
        ("setting_torque_nm", "Nm", "Couple de serrage (N.m)", ["55", "53,5", "56"]),
        ("drill_s", "s", "Temps de perçage (s)", ["14,2", "15", "13,8"]),
        ("cleaning_s", "s", "Temps de nettoyage (s)", ["21", "18,5", "25"]),
        ("setting_s", "s", "Temps de pose (s)", ["41", "38", "44"]),
        (None, None, "Météo", ["pluie", "soleil", "pluie"]),
        (None, None, "Couple prescrit (N.m)", ["55", "55", "55"]),
    ],
    {
        "outcome": {"posée": "set", "abandonnée": "abandoned"},
        "orientation": {"mur": "wall", "plafond": "soffit", "sol": "floor"},
        "drill_method": {"percussion": "hammer", "carottage": "core"},
        "extraction_on": {"oui": "true", "non": "false"},
        "edge_1_mm": {"libre": "clear"},
        "spacing_mm": {"libre": "clear"},
    },
)

SPANISH = Log(
    ";",
    "utf-8",
    "%d/%m/%y",
    [
        ("record_id", None, "Nº de anclaje", ["1", "2", "3"]),
        ("installed_on", None, "Fecha", ["11/5/26", "12/5/26", "13/5/26"]),
        ("crew_code", None, "Cuadrilla", ["A", "B", "A"]),
        ("setting_code", None, "Datos de colocación", ["M12-68"] * 3),
        ("inspector_code", None, "Revisado por", ["R1", "R2", "R1"]),
        ("work_area", None, "Área", ["Nave 2"] * 3),
        ("orientation", None, "Orientación", ["pared", "techo", "suelo"]),
        ("anchor_length_mm", "mm", "Longitud (mm)", ["110"] * 3),
        ("drill_method", None, "Método de perforación", ["martillo"] * 3),
        ("hole_depth_mm", "mm", "PROFUNDIDAD (mm)", ["92", "91", "94"]),
        ("cleaned", None, "Limpieza", ["sí", "no", "sí"]),
        ("fixture_thickness_mm", "mm", "Espesor a fijar (mm)", ["20", "18", "20"]),
        ("packing_mm", "mm", "Calzos (mm)", ["0", "5", "0"]),
        ("edge_1_mm", "mm", "Distancia al borde 1 (mm)", ["120", "libre", "90"]),
        ("edge_2_mm", "mm", "Distancia al borde 2 (mm)", ["300", "libre", "290"]),
        ("spacing_mm", "mm", "Separación (mm)", ["205", "140", "150"]),
        ("setting_torque_nm", "Nm", "Par de apriete (Nm)", ["55,5", "53", "56"]),
        ("wrench_code", None, "Llave dinamométrica", ["L1", "L2", "L1"]),
        ("note", None, "Observaciones", ["", "armadura tocada", ""]),
        (None, None, "Fecha de entrega", ["20/4/26", "20/4/26", "21/4/26"]),
    ],
    {
        "orientation": {"pared": "wall", "techo": "soffit", "suelo": "floor"},
        "drill_method": {"martillo": "hammer"},
        "cleaned": {"sí": "true"},
        "edge_1_mm": {"libre": "clear"},
        "edge_2_mm": {"libre": "clear"},
    },
)

PORTUGUESE = Log(
    "\t",
    "utf-16",
    "%d-%m-%Y %H:%M",
    [
        ("record_id", None, "N.º registo", ["1", "2", "3"]),
        (
            "installed_at",
            None,
            "Data e hora",
            ["11-05-2026 08:15", "12-05-2026 09:00", "13-05-2026 10:30"],
        ),
        ("crew_code", None, "Equipa", ["E1", "E2", "E1"]),
        ("setting_code", None, "Dados de fixação", ["M12-68"] * 3),
        ("orientation", None, "Orientação", ["parede", "teto", "chão"]),
        ("anchor_length_mm", "mm", "Comprimento (mm)", ["110"] * 3),
        (
            "drill_method",
            None,
            "Método de furação",
            ["martelo", "broca oca", "martelo"],
        ),
        ("hole_depth_mm", "mm", "Profundidade do furo (mm)", ["92", "91", "94"]),
        ("brush_count", None, "Escovagens", ["2", "2", "3"]),
        ("blow_count", None, "Sopros", ["2", "4", "2"]),
        ("edge_1_mm", "mm", "Distância ao bordo (mm)", ["120", "livre", "90"]),
        ("setting_torque_nm", "Nm", "Binário de aperto (Nm)", ["55,5", "53", "56"]),
        ("drill_s", "s", "Tempo de furação (s)", ["14,2", "15", "13,8"]),
        (None, None, "Binário de projeto (Nm)", ["55", "55", "55"]),
    ],
    {
        "orientation": {"parede": "wall", "teto": "soffit", "chão": "floor"},
        "drill_method": {"martelo": "hammer", "broca oca": "hollow_bit"},
        "edge_1_mm": {"livre": "clear"},
    },
)

ITALIAN = Log(
    "|",
    "utf-8",
    "%d.%m.%Y",
    [
        ("record_id", None, "Progressivo", ["1", "2", "3"]),
        ("installed_on", None, "Data", ["11.05.2026", "12.05.2026", "13.05.2026"]),
        ("crew_code", None, "Squadra", ["S1", "S2", "S1"]),
        ("setting_code", None, "Dati di posa", ["M12-68"] * 3),
        ("outcome", None, "Esito", ["posato", "sostituito", "posato"]),
        ("anchor_length_mm", "mm", "Lunghezza ancorante [mm]", ["110"] * 3),
        ("hole_depth_mm", "cm", "Profondità foro [cm]", ["9,2", "9,1", "9,4"]),
        ("cleaned", None, "Pulizia", ["sì", "no", "sì"]),
        ("spacing_mm", "cm", "Interasse [cm]", ["20,5", "14", "15"]),
        ("setting_torque_nm", "Nm", "Coppia di serraggio [Nm]", ["55,5", "53", "56"]),
        (None, None, "Spessore lamiera", ["x", "y", "z"]),
    ],
    {
        "outcome": {"posato": "set", "sostituito": "replaced"},
        "cleaned": {"sì": "true"},
    },
)


def write_log(path: Path, log: Log) -> Path:
    headers = [header for _, _, header, _ in log.columns]
    rows = zip(*(values for *_, values in log.columns), strict=True)
    lines = [log.delimiter.join(row) for row in (headers, *rows)]
    path.write_bytes(("\n".join(lines) + "\n").encode(_codec(log.encoding)))
    return path


def _codec(encoding: str) -> str:
    return {"windows-1252": "cp1252"}.get(encoding, encoding)


LOGS = {"fr": FRENCH, "es": SPANISH, "pt": PORTUGUESE, "it": ITALIAN}


def active_map(folder: Path, headers: Headers) -> dict[str, str]:
    """Return the columns that the drafted map takes, by header."""
    rows = [
        {header: values[number % len(values)] for header, _, values in headers}
        for number in range(len(NUMBERED))
    ]
    draft = draft_of(write_csv(folder / "log.csv", rows))
    columns = tomllib.loads(toml_of(draft))["columns"]
    return {
        value["from"] if isinstance(value, dict) else value: column
        for column, value in columns.items()
    }
