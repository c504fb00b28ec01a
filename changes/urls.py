from django.urls import path

from changes.pages import new_mark, revising, views

app_name = "changes"
urlpatterns = [
    path("jobs/<int:job>/requests/", views.queue, name="queue"),
    path("jobs/<int:job>/trusses/<int:truss>/ask/", views.ask, name="ask"),
    path("jobs/<int:job>/trusses/<int:truss>/revise/", revising.start_revision, name="start-revision"),
    path("requests/<int:pk>/", views.request_page, name="request"),
    path("requests/<int:pk>/progress/", views.progress, name="progress"),
    path("requests/<int:pk>/decide/", views.decide, name="decide"),
    path("requests/<int:pk>/answer/", views.answer, name="answer"),
    path("requests/<int:pk>/withdraw/", views.withdraw, name="withdraw"),
    path("requests/<int:pk>/compute/", views.compute, name="compute"),
    path("requests/<int:pk>/options/<int:option>/members/", views.member, name="member"),
    path("requests/<int:pk>/options/<int:option>/edit/", views.edit_option, name="edit-option"),
    path("holds/<int:pk>/answer/", views.answer_hold, name="answer-hold"),
    path("new-marks/<int:pk>/", new_mark.new_mark, name="new-mark"),
    path("new-marks/<int:pk>/progress/", new_mark.new_mark_progress, name="new-mark-progress"),
]
