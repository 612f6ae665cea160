"""Addresses of recalls."""

from django.urls import path

from kegsafe.recalls import views

urlpatterns = [
    path("", views.recalls, name="recalls"),
    path("begin/", views.begin, name="recall-begin"),
    path("<int:pk>/", views.recall, name="recall"),
    path("<int:pk>/again/", views.recall_again, name="recall-again"),
    path("<int:pk>/task/", views.recall_task_add, name="recall-task-add"),
    path("<int:pk>/letter/", views.recall_letter, name="recall-letter"),
    path("<int:pk>/close/", views.recall_close, name="recall-close"),
    path("items/<int:pk>/", views.recall_item, name="recall-item"),
    path("tasks/<int:pk>/", views.recall_task, name="recall-task"),
]
