"""Papers as fields: drawings compare by what is drawn."""

from __future__ import annotations

import io

import ezdxf
from reportlab.pdfgen.canvas import Canvas

from .differences import differences
from .fields import fields_of


def paper(printed="", **files):
    """A captured paper."""
    return {"exit": 0, "printed": printed, "errors": "", "files": {k.replace("_", "."): v for k, v in files.items()}}


def dxf(radius_mm: float, handles_before: int) -> str:
    document = ezdxf.new()
    for _ in range(handles_before):
        document.entitydb.next_handle()
    document.modelspace().add_circle((1.5, 2), radius_mm)
    document.modelspace().add_line((0, 0), (3, 4))
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue()


def pdf(word: str, title: str) -> str:
    stream = io.BytesIO()
    canvas = Canvas(stream, pageCompression=1)
    canvas.setTitle(title)
    canvas.drawString(72, 72, word)
    canvas.save()
    return stream.getvalue().decode("latin-1")


def found(old, new):
    return [difference.pattern for difference in differences(fields_of(old), fields_of(new))]


def test_json_has_fields_and_text_has_lines():
    assert fields_of(paper('{"a": [1, {"b": 2.5}]}'))["printed"] == {"a": [1, {"b": 2.5}]}
    assert fields_of(paper("{not JSON\nbut text"))["printed"] == ["{not JSON", "but text"]


def test_svg_by_element_and_number():
    drawing = '<svg xmlns="http://www.w3.org/2000/svg"><path d="M 0,0 L {}"/><text x="1">17.5</text></svg>'
    assert found(paper(a_svg=drawing.format("3 4")), paper(a_svg=drawing.format("3.0,4"))) == []
    assert found(paper(a_svg=drawing.format("3 4")), paper(a_svg=drawing.format("3 5"))) == ["files.a.svg[].d[]"]


def test_dxf_by_entity_whatever_its_handles():
    assert found(paper(a_dxf=dxf(2.0, 0)), paper(a_dxf=dxf(2.0, 5))) == []
    old, new = paper(a_dxf=dxf(2.0, 0)), paper(a_dxf=dxf(2.5, 0))
    (difference,) = differences(fields_of(old), fields_of(new))
    assert "ENTITIES" in difference.pattern
    assert (difference.old, difference.new) == (2.0, 2.5)


def test_pdf_by_what_is_drawn_on_its_pages():
    assert found(paper(a_pdf=pdf("edge", "one")), paper(a_pdf=pdf("edge", "other"))) == []
    assert found(paper(a_pdf=pdf("edge", "one")), paper(a_pdf=pdf("spine", "one"))) == ["files.a.pdf[][][]"]
