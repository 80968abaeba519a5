"""The addresses of the shop."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver

from wetrun.shop.pages.urls import urlpatterns as pages

urlpatterns: list[URLPattern | URLResolver] = [*pages]

handler400 = "wetrun.shop.pages.refused.not_understood"
handler403 = "wetrun.shop.pages.refused.not_allowed"
handler404 = "wetrun.shop.pages.refused.not_found"
handler500 = "wetrun.shop.pages.refused.fault"
