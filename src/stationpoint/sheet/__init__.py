"""How a contact sheet looks: results in, pages of shapes out. Nothing here projects a point."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stationpoint.base.doors import late

if TYPE_CHECKING:
    from stationpoint.sheet.answer import answer_words, flags
    from stationpoint.sheet.before_after import ChangedCell, before_after_page, where_they_differ
    from stationpoint.sheet.book import Book, first_results
    from stationpoint.sheet.camera_verdicts import camera_lines
    from stationpoint.sheet.chart.margin_map import MarginMap, draw_margin_map
    from stationpoint.sheet.chart.plot import draw_chart
    from stationpoint.sheet.chart.series import chart_of, check_chart
    from stationpoint.sheet.compose import Cell, compose_pages, title_of
    from stationpoint.sheet.flag import Flag
    from stationpoint.sheet.grid import CellParts, arrange, lay_out_grid
    from stationpoint.sheet.levels import ROWS_A_PAGE, LevelRow, levels_pages
    from stationpoint.sheet.marks import known_marks
    from stationpoint.sheet.modes.ladder import Ladder
    from stationpoint.sheet.modes.modes import BY_NAME, MODES, Common, common_of, picture_in_mode
    from stationpoint.sheet.plan.data import PlanData, axes_of, plan_data, plan_objects
    from stationpoint.sheet.ranked import Ranked, columns_of_ranked, ranked_widths, small_width
    from stationpoint.sheet.reserved import tickets_words
    from stationpoint.sheet.review import (
        caption_texts,
        close_up_marks,
        cue_grades,
        flag_word,
        head_words,
        page_scale,
        picking_plan,
    )
    from stationpoint.sheet.roles import Owner, owners_by_id
    from stationpoint.sheet.scale import CLOSE_UP_PX, cell_width_for
    from stationpoint.sheet.settings import aids_words, surfaces_words
    from stationpoint.sheet.twin.page import Pictures, twin_page
    from stationpoint.sheet.twin.plan import Layouts, TwinLayout
    from stationpoint.sheet.twin.words import twin_answer, twin_title
    from stationpoint.sheet.wording import setting_words

LATE = {
    "answer": "answer_words flags",
    "before_after": "ChangedCell before_after_page where_they_differ",
    "book": "Book first_results",
    "camera_verdicts": "camera_lines",
    "chart.margin_map": "MarginMap draw_margin_map",
    "chart.plot": "draw_chart",
    "chart.series": "chart_of check_chart",
    "compose": "Cell compose_pages title_of",
    "flag": "Flag",
    "grid": "CellParts arrange lay_out_grid",
    "levels": "ROWS_A_PAGE LevelRow levels_pages",
    "marks": "known_marks",
    "modes.ladder": "Ladder",
    "modes.modes": "BY_NAME MODES Common common_of picture_in_mode",
    "plan.data": "PlanData axes_of plan_data plan_objects",
    "ranked": "Ranked columns_of_ranked ranked_widths small_width",
    "reserved": "tickets_words",
    "review": "caption_texts close_up_marks cue_grades flag_word head_words page_scale picking_plan",
    "roles": "Owner owners_by_id",
    "scale": "CLOSE_UP_PX cell_width_for",
    "settings": "aids_words surfaces_words",
    "twin.page": "Pictures twin_page",
    "twin.plan": "Layouts TwinLayout",
    "twin.words": "twin_answer twin_title",
    "wording": "setting_words",
}
__getattr__ = late(__name__, LATE)

__all__ = [
    "BY_NAME",
    "CLOSE_UP_PX",
    "MODES",
    "ROWS_A_PAGE",
    "Book",
    "Cell",
    "CellParts",
    "ChangedCell",
    "Common",
    "Flag",
    "Ladder",
    "Layouts",
    "LevelRow",
    "MarginMap",
    "Owner",
    "Pictures",
    "PlanData",
    "Ranked",
    "TwinLayout",
    "aids_words",
    "answer_words",
    "arrange",
    "axes_of",
    "before_after_page",
    "camera_lines",
    "caption_texts",
    "cell_width_for",
    "chart_of",
    "check_chart",
    "close_up_marks",
    "columns_of_ranked",
    "common_of",
    "compose_pages",
    "cue_grades",
    "draw_chart",
    "draw_margin_map",
    "first_results",
    "flag_word",
    "flags",
    "head_words",
    "known_marks",
    "lay_out_grid",
    "levels_pages",
    "owners_by_id",
    "page_scale",
    "picking_plan",
    "picture_in_mode",
    "plan_data",
    "plan_objects",
    "ranked_widths",
    "setting_words",
    "small_width",
    "surfaces_words",
    "tickets_words",
    "title_of",
    "twin_answer",
    "twin_page",
    "twin_title",
    "where_they_differ",
]
