"""Imports what a computation needs before the first task comes, and before the fence closes."""

import gc
import mimetypes

import pretreat.chemistry.second_opinion
import pretreat.lab.reading
import pretreat.lab.samples.design_water
import pretreat.page.jobs
import pretreat.page.site_form
import pretreat.page.view_jobs
import pretreat.plant.train
import pretreat.quote.figures
import pretreat.record.figures
import pretreat.report.workbook.book
import pretreat.stages.site
import pretreat.study  # noqa: F401
from pretreat.page.documents import unpack_letters

GARBAGE_AFTER = 200_000  # objects made since the last look


def ready() -> None:
    """Make this process ready for tasks."""
    mimetypes.init()  # reads tables of the system, which the fence would not let it read later
    unpack_letters()
    gc.set_threshold(GARBAGE_AFTER, 50, 50)  # a study is many small objects that live to the end
    gc.freeze()
