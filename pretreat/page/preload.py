"""Imports what a computation needs, once, in the process that workers are forked from."""

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

mimetypes.init()  # reads tables of the system, which the fence would not let it read later
unpack_letters()
gc.set_threshold(200_000, 50, 50)  # a study is many small objects that all live to the end
gc.freeze()
