from django.urls import path

from trusses.bearings import page as bearing_page
from trusses.clear import page as clear_page
from trusses.copies import page as copies_page
from trusses.job import building_page, kinds_page, people_page, plate_page, sheathing_page
from trusses.job import page as job_page
from trusses.marks import correct_page, release_page
from trusses.marks import new_page as new_truss
from trusses.marks import page as mark_page
from trusses.plan import page as plan_page
from trusses.sealing import page as seal_page
from trusses.sealing import records_page, together_page
from trusses.sheets import code_page, setting_page
from trusses.sheets import labels as label_page
from trusses.sheets import page as sheet_page
from trusses.solid import page as solid_page

app_name = "trusses"
urlpatterns = [
    path("jobs/<int:job>/", job_page.job, name="job"),
    path("jobs/<int:job>/plan/", plan_page.plan, name="plan"),
    path("jobs/<int:job>/plan/places/", plan_page.set_place, name="new-place"),
    path("jobs/<int:job>/plan/places/<int:row>/", plan_page.set_place, name="set-place"),
    path("jobs/<int:job>/plan/walls/", plan_page.set_wall, name="new-wall"),
    path("jobs/<int:job>/plan/walls/<int:row>/", plan_page.set_wall, name="set-wall"),
    path("jobs/<int:job>/plan/north/", plan_page.set_north, name="set-north"),
    path("jobs/<int:job>/sheets/", sheet_page.sheets, name="sheets"),
    path("jobs/<int:job>/3d/", solid_page.solid, name="solid"),
    path("jobs/<int:job>/set.glb", solid_page.set_glb, name="set-glb"),
    path("jobs/<int:job>/set.svg", solid_page.set_picture, name="set-picture"),
    path("jobs/<int:job>/people/", people_page.people, name="people"),
    path("jobs/<int:job>/plates/", plate_page.plate_table, name="plates"),
    path("jobs/<int:job>/building/", building_page.building, name="building"),
    path("jobs/<int:job>/sheathing/", sheathing_page.sheathing, name="sheathing"),
    path("jobs/<int:job>/trusses/new/", new_truss.new_truss, name="new-truss"),
    path("jobs/<int:job>/trusses/new/draw/", new_truss.draw_shape, name="draw-shape"),
    path("jobs/<int:job>/trusses/upload/", new_truss.upload_truss, name="upload-truss"),
    path("jobs/<int:job>/trusses/<int:truss>/", mark_page.mark, name="mark"),
    path("jobs/<int:job>/trusses/<int:truss>/correct/", correct_page.correct_mark, name="correct"),
    path("jobs/<int:job>/trusses/<int:truss>/copies/", mark_page.move_copies, name="move-copies"),
    path("jobs/<int:job>/release/", release_page.release_together, name="release-together"),
    path("jobs/<int:job>/setting/", setting_page.setting, name="setting"),
    path("jobs/<int:job>/trusses/<int:truss>/fixed/", setting_page.fixed, name="fixed"),
    path("jobs/<int:job>/trusses/<int:truss>/fixed/tick/", setting_page.tick_fixed, name="tick-fixed"),
    path("fixed/<int:pk>/<int:number>.jpg", setting_page.fixed_photo, name="fixed-photo"),
    path("looks/<int:pk>/close/", copies_page.close_look, name="close-look"),
    path("looks/<int:pk>/<int:number>.jpg", copies_page.look_photo, name="look-photo"),
    path("jobs/<int:job>/trusses/<int:truss>/copies/take-back/", copies_page.take_back, name="take-back"),
    path("jobs/<int:job>/trusses/<int:truss>/copies/earlier/", copies_page.say_of_earlier, name="say-of-earlier"),
    path("jobs/<int:job>/trusses/<int:truss>/copies/gone/", copies_page.say_gone, name="say-gone"),
    path("jobs/<int:job>/trusses/<int:truss>/revisions/<int:number>/", sheet_page.one_sheet, name="sheet"),
    path("jobs/<int:job>/trusses/<int:truss>/revisions/<int:number>/seal/", seal_page.seal, name="seal"),
    path("jobs/<int:job>/trusses/<int:truss>/revisions/<int:number>/code/", code_page.code, name="paper-code"),
    path("paper/", code_page.typed, name="paper-typed"),
    path("paper/<str:token>/", code_page.paper, name="paper"),
    path("jobs/<int:job>/sealed-drawings/", seal_page.rule, name="seal-rule"),
    path("jobs/<int:job>/sealed-drawings/attach/", together_page.attach_several, name="attach-seals"),
    path("jobs/<int:job>/sealed-drawings/record/", records_page.record_several, name="record-seals"),
    path("seals/<int:pk>/record/", seal_page.record, name="record-seal"),
    path("seals/<int:pk>/covers/", seal_page.cover, name="cover-seal"),
    path("seals/<int:pk>/withdraw/", seal_page.withdraw, name="withdraw-seal"),
    path("seals/<int:pk>/drawing.pdf", seal_page.whole, name="seal-pdf"),
    path("seals/<int:pk>/<int:page>.png", seal_page.picture, name="seal-page"),
    path("jobs/<int:job>/trusses/<int:truss>/labels/", label_page.page, name="labels"),
    path("jobs/<int:job>/trusses/<int:truss>/clear/", clear_page.clear, name="clear"),
    path("jobs/<int:job>/trusses/<int:truss>/bearings/", bearing_page.bearings, name="bearings"),
    path("jobs/<int:job>/trusses/<int:truss>/kinds/", kinds_page.kinds, name="kinds"),
    path("jobs/<int:job>/trusses/<int:truss>/loads/", bearing_page.take_up_loads, name="take-up"),
    path("print.css", sheet_page.print_edges, name="print"),
    path(
        "jobs/<int:job>/trusses/<int:truss>/revisions/<int:number>/margins.css",
        sheet_page.sheet_margins,
        name="margins",
    ),
    path(
        "jobs/<int:job>/trusses/<int:truss>/revisions/<int:number>/small.svg",
        mark_page.small_elevation,
        name="small-elevation",
    ),
]
