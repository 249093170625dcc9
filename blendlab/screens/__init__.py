"""The app's pages, one file each; the only importers of Streamlit."""
