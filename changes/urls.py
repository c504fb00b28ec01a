from django.urls import path

from changes.pages import asking, needs, photos, plan_moves, repairing, requests, revising, running, solid, submission

app_name = "changes"
urlpatterns = [
    path("jobs/<int:job>/requests/", requests.queue, name="queue"),
    path("jobs/<int:job>/needs/", needs.needs, name="needs"),
    path("jobs/<int:job>/trusses/<int:truss>/needs/", needs.needs, name="needs-of-mark"),
    path("jobs/<int:job>/ask/question/", needs.ask_kind, {"kind": "question"}, name="ask-of-job"),
    path("jobs/<int:job>/trusses/<int:truss>/ask/", asking.ask, name="ask"),
    path("jobs/<int:job>/trusses/<int:truss>/ask/<slug:kind>/", needs.ask_kind, name="ask-kind"),
    path("jobs/<int:job>/trusses/<int:truss>/revise/", revising.start_revision, name="start-revision"),
    path("jobs/<int:job>/run/", running.run, name="run"),
    path("requests/<int:pk>/", requests.request_page, name="request"),
    path("requests/<int:pk>/3d/", solid.in_the_set, name="solid"),
    path("requests/<int:pk>/set.glb", solid.set_glb, name="set-glb"),
    path("requests/<int:pk>/set.svg", solid.set_picture, name="set-picture"),
    path("requests/<int:pk>/progress/", requests.progress, name="progress"),
    path("requests/<int:pk>/decide/", requests.decide, name="decide"),
    path("requests/<int:pk>/together/", requests.work_out_together, name="together"),
    path("requests/<int:pk>/asks/<int:ask>/repair/", repairing.attach, name="attach-repair"),
    path("requests/<int:pk>/plan/", plan_moves.plan_moves, name="plan-moves"),
    path("requests/<int:pk>/answer/", requests.answer, name="answer"),
    path("requests/<int:pk>/withdraw/", requests.withdraw, name="withdraw"),
    path("requests/<int:pk>/compute/", requests.compute, name="compute"),
    path("requests/<int:pk>/options/<int:option>/members/", requests.member, name="member"),
    path("requests/<int:pk>/options/<int:option>/edit/", requests.edit_option, name="edit-option"),
    path("photos/<int:pk>/", photos.photo, name="photo"),
    path("holds/<int:pk>/answer/", requests.answer_hold, name="answer-hold"),
    path("submissions/<int:pk>/", submission.submission, name="submission"),
    path("submissions/<int:pk>/progress/", submission.submission_progress, name="submission-progress"),
]
