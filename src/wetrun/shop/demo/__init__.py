"""The demo: an invented branch with people, customers and machines, each as far on its way to the field as another."""
