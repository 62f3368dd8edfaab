"""Exact plane geometry of blade sections: lines and arcs, numpy only, mm and mm4."""
