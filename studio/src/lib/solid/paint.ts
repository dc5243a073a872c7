// Colours of the board by day and by night, and the wave of its cut edge.
import { CanvasTexture, RepeatWrapping, SRGBColorSpace } from 'three';

export interface Paint {
  inside: string;
  outside: string;
  edge: string;
  flute: string;
  line: string;
  lit: string;
  litLine: string;
  place: string;
  room: string;
  sheet: string;
}

export const LIGHT: Paint = {
  inside: '#e3cda6',
  outside: '#cfae7d',
  edge: '#b8945f',
  flute: '#5d4526',
  line: '#5a4427',
  lit: '#2fa3ab',
  litLine: '#063a3f',
  place: '#d3242f',
  room: '#3d7fd0',
  sheet: '#ffffff',
};
export const NIGHT: Paint = { ...LIGHT, inside: '#d8bf94', outside: '#bf9b67', line: '#2b1f10', lit: '#3cbcc4', room: '#79b2f5', place: '#ff5b5f', sheet: '#162122' };

/** Corrugated board seen on its cut edge: liners with the medium waving between them. */
export function waves(paint: Paint, layers: number): CanvasTexture {
  const wide = 64;
  const high = 64 * layers;
  const canvas = document.createElement('canvas');
  canvas.width = wide;
  canvas.height = high;
  const pen = canvas.getContext('2d')!;
  pen.fillStyle = paint.flute;
  pen.fillRect(0, 0, wide, high);
  pen.strokeStyle = paint.inside;
  pen.lineWidth = 9;
  for (let layer = 0; layer < layers; layer++) {
    pen.beginPath();
    for (let x = -4; x <= wide + 4; x += 2) {
      const y = layer * 64 + 32 + 22 * Math.sin((x / wide) * 2 * Math.PI);
      if (x === -4) pen.moveTo(x, y);
      else pen.lineTo(x, y);
    }
    pen.stroke();
  }
  pen.fillStyle = paint.inside;
  for (let layer = 0; layer <= layers; layer++) pen.fillRect(0, layer * 64 - 7, wide, 14);
  const texture = new CanvasTexture(canvas);
  texture.wrapS = texture.wrapT = RepeatWrapping;
  texture.colorSpace = SRGBColorSpace;
  texture.anisotropy = 4;
  return texture;
}
