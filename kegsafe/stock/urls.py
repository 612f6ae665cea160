"""Addresses of the stock room."""

from django.urls import path

from kegsafe.stock.views import assessments, deliveries, imports, ingredients, lots, suppliers

urlpatterns = [
    path("", lots.lots, name="lots"),
    path("lots/<int:pk>/", lots.lot, name="lot"),
    path("lots/<int:pk>/amend/", lots.lot_amend, name="lot-amend"),
    path("lots/<int:pk>/open/", lots.lot_open, name="lot-open"),
    path("lots/<int:pk>/hold/", lots.lot_hold, name="lot-hold"),
    path("lots/<int:pk>/release/", lots.lot_release, name="lot-release"),
    path("lots/<int:pk>/discard/", lots.lot_discard, name="lot-discard"),
    path("lots/<int:pk>/reject/", lots.lot_reject, name="lot-reject"),
    path("lots/<int:pk>/freeze/", lots.lot_freeze, name="lot-freeze"),
    path("lots/<int:pk>/thaw/", lots.lot_thaw, name="lot-thaw"),
    path("deliveries/", deliveries.deliveries, name="deliveries"),
    path("deliveries/add/", deliveries.delivery_add, name="delivery-add"),
    path("deliveries/import/", imports.delivery_import, name="delivery-import"),
    path("deliveries/import/sample/", imports.delivery_sample, name="delivery-sample"),
    path("deliveries/import/<int:pk>/", imports.delivery_file, name="delivery-file"),
    path("deliveries/<int:pk>/", deliveries.delivery, name="delivery"),
    path("deliveries/<int:pk>/lots/", deliveries.delivery_lots, name="delivery-lots"),
    path("deliveries/<int:pk>/amend/", deliveries.delivery_amend, name="delivery-amend"),
    path("ingredients/", ingredients.ingredients, name="ingredients"),
    path("ingredients/add/", ingredients.ingredient_add, name="ingredient-add"),
    path("ingredients/catalogue/", ingredients.catalogue, name="catalogue"),
    path("ingredients/<int:pk>/", ingredients.ingredient, name="ingredient"),
    path("ingredients/<int:pk>/amend/", ingredients.ingredient_amend, name="ingredient-amend"),
    path("ingredients/<int:pk>/shelf-life/", ingredients.shelf_life_add, name="shelf-life-add"),
    path("ingredients/<int:pk>/assessment/", ingredients.assessment_add, name="assessment-add"),
    path("assessments/", assessments.assessments, name="assessments"),
    path("assessments/<int:pk>/amend/", assessments.assessment_amend, name="assessment-amend"),
    path(
        "shelf-lives/<int:pk>/withdraw/",
        ingredients.shelf_life_withdraw,
        name="shelf-life-withdraw",
    ),
    path("suppliers/", suppliers.suppliers, name="suppliers"),
    path("suppliers/add/", suppliers.supplier_add, name="supplier-add"),
    path("suppliers/<int:pk>/amend/", suppliers.supplier_amend, name="supplier-amend"),
]
