"""The run sheet as it will be printed, page under page."""

import pypdfium2
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPixmap
from PySide6.QtWidgets import QDialog, QScrollArea, QVBoxLayout, QWidget

from app.dialogs.foot import Foot
from app.qt.captions import caption, filled
from app.widgets.plain_text import plain_label

PAGE_WIDTH_PX = 640


class RunSheetPreview(QDialog):
    """Accepted when it is to be saved."""

    def __init__(self, parent: QWidget | None, data: bytes) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Run sheet"))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 16, 16, 16)
        layout.setSpacing(12)
        content = QWidget()
        self._pages = QVBoxLayout(content)
        self._pages.setSpacing(12)
        pictures = page_pictures(data, round(PAGE_WIDTH_PX * self.devicePixelRatioF()))
        for number, picture in enumerate(pictures, start=1):
            picture.setDevicePixelRatio(self.devicePixelRatioF())
            page = plain_label()
            page.setAccessibleName(filled("Page {number} of {pictures}", number=number, pictures=len(pictures)))
            page.setPixmap(QPixmap.fromImage(picture))
            self._pages.addWidget(page)
        self.page_count = len(pictures)
        scroll = QScrollArea()
        scroll.setAccessibleName(caption("Pages of the run sheet"))
        scroll.setWidget(content)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        layout.addWidget(scroll, 1)
        layout.addLayout(Foot(self, "&Save PDF…", leave="&Close"))
        self.resize(PAGE_WIDTH_PX + 80, 800)


def page_pictures(data: bytes, width_px: int) -> list[QImage]:
    """Each page of a PDF as a picture so wide."""
    document = pypdfium2.PdfDocument(data)
    try:
        pictures = []
        for page in document:
            bitmap = page.render(scale=width_px / page.get_width(), rev_byteorder=True).to_numpy()
            height, width, channels = bitmap.shape
            kind = QImage.Format.Format_RGB888 if channels == 3 else QImage.Format.Format_RGBX8888
            pictures.append(QImage(bitmap.tobytes(), width, height, width * channels, kind).copy())
        return pictures
    finally:
        document.close()
