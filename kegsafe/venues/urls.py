"""Addresses of signing in, the venue, its limits and its people."""

from django.contrib.auth import views as auth_views
from django.urls import path

from kegsafe.venues import views

urlpatterns = [
    path("sign-in/", views.SignIn.as_view(), name="sign-in"),
    path("sign-out/", auth_views.LogoutView.as_view(), name="sign-out"),
    path("password/", views.ChangePassword.as_view(), name="password-change"),
    path("password/changed/", auth_views.PasswordChangeDoneView.as_view(), name="password-changed"),
    path("switch/", views.switch, name="venue-switch"),
    path("", views.settings, name="venue-settings"),
    path("limits/", views.local_limits, name="local-limits"),
    path("limits/add/", views.local_limit_add, name="local-limit-add"),
    path("limits/<int:pk>/withdraw/", views.local_limit_withdraw, name="local-limit-withdraw"),
    path("people/", views.people, name="people"),
    path("people/add/", views.person_add, name="person-add"),
    path("people/<int:pk>/", views.person, name="person"),
    path("people/<int:pk>/role/", views.person_role, name="person-role"),
    path("people/<int:pk>/access/", views.person_access, name="person-access"),
    path("people/<int:pk>/password/", views.person_password, name="person-password"),
]
