"""Addresses of the batches room."""

from django.urls import path

from kegsafe.batches.views import fills, making, recipes

urlpatterns = [
    path("", making.batches, name="batches"),
    path("add/", making.batch_add, name="batch-add"),
    path("<int:pk>/", making.batch, name="batch"),
    path("<int:pk>/amend/", making.batch_amend, name="batch-amend"),
    path("<int:pk>/draw/", making.batch_draw, name="batch-draw"),
    path("<int:pk>/fill/", fills.fill_keg, name="fill-keg"),
    path("preparations/", making.preparations, name="preparations"),
    path("preparations/add/", making.preparation_add, name="preparation-add"),
    path("preparations/<int:pk>/", making.preparation, name="preparation"),
    path("preparations/<int:pk>/draw/", making.preparation_draw, name="preparation-draw"),
    path("recipes/", recipes.recipes, name="recipes"),
    path("recipes/add/", recipes.recipe_add, name="recipe-add"),
    path("recipes/<int:pk>/", recipes.recipe, name="recipe"),
    path("recipes/<int:pk>/scale/", recipes.recipe_scale, name="recipe-scale"),
    path("recipes/<int:pk>/amend/", recipes.recipe_amend, name="recipe-amend"),
    path("recipes/<int:pk>/items/add/", recipes.recipe_item_add, name="recipe-item-add"),
    path("recipes/items/<int:pk>/remove/", recipes.recipe_item_remove, name="recipe-item-remove"),
    path(
        "recipes/<int:pk>/shelf-lives/add/",
        recipes.recipe_shelf_life_add,
        name="recipe-shelf-life-add",
    ),
    path(
        "recipes/shelf-lives/<int:pk>/withdraw/",
        recipes.recipe_shelf_life_withdraw,
        name="recipe-shelf-life-withdraw",
    ),
    path("recipes/<int:pk>/assessment/", recipes.recipe_assess, name="recipe-assess"),
    path("fills/", fills.fills, name="fills"),
    path("fills/<int:pk>/", fills.fill, name="fill"),
    path("fills/<int:pk>/tap/", fills.fill_tap, name="fill-tap"),
    path("fills/<int:pk>/untap/", fills.fill_untap, name="fill-untap"),
    path("fills/<int:pk>/hold/", fills.fill_hold, name="fill-hold"),
    path("fills/<int:pk>/release/", fills.fill_release, name="fill-release"),
    path("fills/<int:pk>/empty/", fills.fill_empty, name="fill-empty"),
    path("fills/<int:pk>/discard/", fills.fill_discard, name="fill-discard"),
]
