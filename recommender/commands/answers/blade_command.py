"""`section` and `measure`: one section drawn up or found with calipers."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from recommender.commands.common import (
    EXIT_NOTHING_FITS,
    Commands,
    output_arguments,
    page_width,
    size,
    write_json,
    write_text,
)
from recommender.errors import InputError
from recommender.text import shorten

if TYPE_CHECKING:
    from recommender.service import Service


def add(commands: Commands) -> None:
    """Add the commands of this family."""
    section = commands.add_parser("section")
    section.set_defaults(run=_section)
    section.add_argument("--grind", required=True, metavar="ID")
    section.add_argument("--stock", required=True, type=size, metavar="MM")
    section.add_argument("--height", required=True, type=size, metavar="MM")
    section.add_argument("--line", type=size, metavar="MM", help="grind line above the edge")
    section.add_argument("--edge-thickness", type=size, metavar="MM")
    section.add_argument("--edge-angle-per-side", type=size, metavar="DEG")
    section.add_argument("--wheel", type=size, metavar="DIAMETER_MM", help="contact wheel; hollows require it")
    section.add_argument(
        "--wheel-hardness",
        type=size,
        metavar="SHORE_A",
        help="its rubber; taken as hard if not given",
    )
    section.add_argument("--param", action="append", default=[], metavar="NAME=VALUE", help="a knob of the grind")
    output_arguments(section)

    measure = commands.add_parser("measure")
    measure.set_defaults(run=_measure)
    measure.add_argument("readings", nargs="+", metavar="READING", help="HEIGHT:THICKNESS in mm, such as 5:0.8")
    measure.add_argument("--edge-angle-per-side", type=size, metavar="DEG")
    measure.add_argument("--height", type=size, metavar="MM", help="edge to spine")
    measure.add_argument("--stock", type=size, metavar="MM", help="thickness of the spine")
    measure.add_argument("--flat-face", choices=("none", "left", "right"), help="seen edge down and tip forward")
    measure.add_argument("--tip", choices=("same", "other"), help="whether the grind changes towards the tip")
    measure.add_argument("--largest-wheel", type=size, metavar="DIAMETER_MM", help="that the maker may have had")
    measure.add_argument("--uncertainty", type=size, default=0.03, metavar="MM", help="of a reading (0.03)")
    measure.add_argument("--original-height", type=size, metavar="MM", help="when new")
    measure.add_argument("--original-edge-thickness", type=size, metavar="MM", help="behind the edge when new")
    measure.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="KEY=VALUE",
        help="what it is wanted for, such as tasks.food-prep=1, owner.gear=belt-grinder or steel.grade=1084",
    )
    output_arguments(measure)


def _section(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.answer.figures_text import section_text
    from recommender.service import SectionRequest

    parameters = {}
    for setting in args.param:
        name, equals, value = setting.partition("=")
        if not equals:
            raise InputError(f"{shorten(setting)} does not fit", key="--param", expected="NAME=VALUE")
        parameters[name.strip()] = value.strip()
    figures = service.measured.section(
        SectionRequest(
            grind=args.grind,
            stock_thickness_mm=args.stock,
            height_mm=args.height,
            grind_line_mm=args.line,
            edge_thickness_mm=args.edge_thickness,
            edge_angle_per_side_deg=args.edge_angle_per_side,
            wheel_diameter_mm=args.wheel,
            wheel_shore_a=args.wheel_hardness,
            parameters=parameters,
        )
    )
    if args.json:
        write_json(figures.as_json())
    else:
        write_text(section_text(figures, service.grinds[args.grind].label, width=page_width(), inches=args.inches))
    return 0


def _measure(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.measured.existing_blade_text import in_hand_json, in_hand_text
    from recommender.drawing.text.measured.identify_text import identify_text
    from recommender.models.brief import Brief
    from recommender.service import LARGEST_WHEEL_MM, CaliperBlade, parse_readings, with_settings

    found, back = service.measured.identify(
        CaliperBlade(
            parse_readings(args.readings),
            height_mm=args.height,
            edge_angle_per_side_deg=args.edge_angle_per_side,
            stock_thickness_mm=args.stock,
            flat_face=args.flat_face,
            tip=args.tip,
            uncertainty_mm=args.uncertainty,
            largest_wheel_mm=LARGEST_WHEEL_MM if args.largest_wheel is None else args.largest_wheel,
        ),
        original_height_mm=args.original_height,
        original_edge_thickness_mm=args.original_edge_thickness,
    )
    suited, regrinds = None, None
    if found.verdict != "none fits":
        suited, regrinds = service.measured.in_hand(found, with_settings(Brief(), args.set), "--set")
    if args.json:
        write_json({**found.as_json(), "sharpened_back_mm": back, **in_hand_json(suited, regrinds)})
    else:
        write_text(identify_text(found, back_mm=back, width=page_width(), inches=args.inches))
        if suited is not None:
            write_text("\n" + in_hand_text(suited, regrinds, width=page_width(), inches=args.inches))
    return EXIT_NOTHING_FITS if found.verdict == "none fits" else 0
